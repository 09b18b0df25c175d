// Comforts of the builder's pages. Each page works without this file.
//   data-print      a button that prints the page
//   data-tick-all   a button that ticks every box of the wall it belongs to (data-tick-wall)

for (const button of document.querySelectorAll("[data-print], [data-tick-all]")) {
  button.hidden = false;
}

function label(button, ticked) {
  const words = ticked ? "Untick this wall " : "Tick all of this wall "; // the wall's name follows
  if (button.firstChild.textContent !== words) button.firstChild.textContent = words;
}

for (const wall of document.querySelectorAll("[data-tick-wall]")) {
  const button = wall.querySelector("[data-tick-all]");
  const boxes = [...wall.querySelectorAll("input[type=checkbox]")];
  const all = () => boxes.every((box) => box.checked);
  button.addEventListener("click", () => {
    const tick = !all();
    for (const box of boxes) box.checked = tick;
    label(button, tick);
  });
  wall.addEventListener("change", () => label(button, all()));
  label(button, all());
}

document.addEventListener("click", (event) => {
  if (event.target.closest?.("[data-print]")) window.print();
});
