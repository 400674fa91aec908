// The game again, move by move.
const box = document.getElementById("replay"), slider = document.getElementById("replay-at");
const told = document.getElementById("replay-told"), table = document.getElementById("replay-table");
let asked = 0;

async function show() {
  const number = ++asked;
  const answer = await fetch(`${box.dataset.base}?at=${slider.value}`, { headers: { accept: "application/json" } });
  if (!answer.ok || number !== asked) return;
  const step = await answer.json();
  if (number !== asked) return;
  table.innerHTML = step.html;
  told.textContent = step.told;
  slider.setAttribute("aria-valuetext", step.told);
  box.dataset.at = slider.value;
}

slider.addEventListener("input", show);
for (const button of box.querySelectorAll("[data-step]")) button.addEventListener("click", () => { slider.value = Number(slider.value) + Number(button.dataset.step); show(); });
show();
