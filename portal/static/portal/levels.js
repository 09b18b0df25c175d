// Adds and removes rows of the lists of a wall's levels without a round trip. The page works
// without it.

function addRow(button) {
  const name = button.dataset.addRow;
  const form = button.form;
  const total = form.elements[`${name}-TOTAL_FORMS`];
  const rows = form.querySelector(`[data-rows="${name}"]`);
  const template = form.querySelector(`template[data-row-of="${name}"]`);
  const row = template.content.firstElementChild.cloneNode(true);
  const index = Number(total.value);
  for (const part of row.querySelectorAll("[name], [id], [for]")) {
    for (const attribute of ["name", "id", "for", "value"]) {
      const value = part.getAttribute(attribute);
      if (value) part.setAttribute(attribute, value.replace("__prefix__", index));
    }
  }
  row.querySelector("legend").append(` ${index + 1}`);
  row.querySelector("[data-row-number]")?.append(index + 1);
  total.value = index + 1;
  rows.append(row);
  row.querySelector("input, select").focus();
}

// The numbers of the rows below stay: a missing number counts as a blank row.
function removeRow(button) {
  const row = button.closest("fieldset");
  const rows = row.parentElement;
  const form = button.form;
  row.remove();
  form.querySelector(`[data-add-row="${rows.dataset.rows}"]`).focus();
  form.dispatchEvent(new CustomEvent("rows-changed"));
}

document.addEventListener("click", (event) => {
  const button = event.target.closest("[data-add-row], [data-remove-row]");
  if (!button) return;
  event.preventDefault();
  if (button.dataset.addRow) addRow(button);
  else removeRow(button);
});
