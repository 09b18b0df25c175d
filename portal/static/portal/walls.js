// The walls editor: rows are added, moved, dragged and taken away without asking the server.
// Without this file the same buttons send the form, which comes back rearranged.

import { newId } from "./net.js";

function edit(form, list, template) {
  form.classList.add("has-script");
  const prefix = form.dataset.walls;
  const total = form.elements[`${prefix}-TOTAL_FORMS`];
  const most = Number(form.elements[`${prefix}-MAX_NUM_FORMS`].value);
  const rows = () => [...list.querySelectorAll("[data-wall-row]")];

  // Names, ids and button values follow the order of the rows.
  function renumber() {
    const pattern = new RegExp(`^(id_)?${prefix}-(\\d+|__prefix__)-`);
    rows().forEach((row, index) => {
      for (const element of row.querySelectorAll("[name], [id], [for]")) {
        for (const attribute of ["name", "id", "for"]) {
          const value = element.getAttribute(attribute);
          if (value && pattern.test(value)) {
            element.setAttribute(attribute, value.replace(pattern, `$1${prefix}-${index}-`));
          }
        }
      }
      row.querySelector("[data-wall-number]").textContent = index + 1;
      row.querySelector(".wall-buttons").setAttribute("aria-label", `Wall ${index + 1}`);
      const words = {
        up: `Move wall ${index + 1} up`,
        down: `Move wall ${index + 1} down`,
        remove: `Remove wall ${index + 1}`,
      };
      for (const button of row.querySelectorAll("[data-wall-move]")) {
        button.value = `${button.dataset.wallMove}:${index}`;
        button.setAttribute("aria-label", words[button.dataset.wallMove]);
      }
    });
    total.value = rows().length;
    form.dispatchEvent(new CustomEvent("walls-moved", { bubbles: true }));
  }

  function add() {
    if (rows().length >= most) return;
    const finish = rows().at(-1)?.querySelector(".wall-finish select").value;
    list.append(template.content.cloneNode(true));
    const row = rows().at(-1);
    row.querySelector("input[type=hidden]").value = newId();
    if (finish) row.querySelector(".wall-finish select").value = finish;
    renumber();
    row.querySelector(".wall-length input").focus();
  }

  form.addEventListener("click", (event) => {
    if (event.target.closest("[data-wall-add]")) {
      event.preventDefault();
      add();
      return;
    }
    const button = event.target.closest("[data-wall-move]");
    if (!button) return;
    event.preventDefault();
    const row = button.closest("[data-wall-row]");
    const wish = button.dataset.wallMove;
    if (wish === "up" && row.previousElementSibling) row.previousElementSibling.before(row);
    if (wish === "down" && row.nextElementSibling) row.nextElementSibling.after(row);
    if (wish === "remove") {
      const next = row.nextElementSibling || row.previousElementSibling;
      row.remove();
      (next?.querySelector(".wall-length input") || form.querySelector("[data-wall-add]")).focus();
    }
    renumber();
    if (wish !== "remove") button.focus();
  });

  // Enter goes on to the next wall instead of saving half a house.
  form.addEventListener("keydown", (event) => {
    if (event.key !== "Enter" || !event.target.matches("input")) return;
    event.preventDefault();
    const row = event.target.closest("[data-wall-row]");
    const next = row?.nextElementSibling?.querySelector(".wall-length input");
    if (next) next.focus();
    else if (row) add();
  });

  // Dragging by the number, with a finger or a mouse.
  let dragged = null;
  list.addEventListener("pointerdown", (event) => {
    if (!event.target.closest("[data-wall-number]")) return;
    dragged = event.target.closest("[data-wall-row]");
    dragged.classList.add("is-dragged");
    list.setPointerCapture(event.pointerId);
    event.preventDefault();
  });
  list.addEventListener("pointermove", (event) => {
    if (!dragged) return;
    const over = rows().find((row) => {
      const box = row.getBoundingClientRect();
      return row !== dragged && event.clientY > box.top && event.clientY < box.bottom;
    });
    if (!over) return;
    const box = over.getBoundingClientRect();
    if (event.clientY < box.top + box.height / 2) over.before(dragged);
    else over.after(dragged);
  });
  for (const end of ["pointerup", "pointercancel"]) {
    list.addEventListener(end, () => {
      if (!dragged) return;
      dragged.classList.remove("is-dragged");
      dragged = null;
      renumber();
    });
  }
}

const found = document.getElementById("walls-form");
const rowList = found?.querySelector("[data-wall-rows]");
const rowTemplate = document.getElementById("wall-row-template");
if (rowList && rowTemplate) edit(found, rowList, rowTemplate);
