// After the game: whose pathways the map shows.
import { leafInto, light } from "./lamps.js";

const row = document.querySelector("[data-lights]");
const buttons = [...row.querySelectorAll("[data-light]")];

async function show(button) {
  for (const other of buttons) other.setAttribute("aria-pressed", other === button);
  light(await leafInto(document.getElementById("leafbox"), row.dataset.lights), JSON.parse(button.dataset.light));
  row.dataset.ready = "true";
}

for (const button of buttons) button.addEventListener("click", () => show(button));
if (buttons[0]) show(buttons[0]);
