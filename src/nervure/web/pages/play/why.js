// Why a connection holds or not: the map in a dialog, with the pathways it is about lit.
import { leafInto, light } from "./lamps.js";

export async function openWhy(leaf, address, from) {
  const answer = await fetch(address, { headers: { accept: "application/json" } });
  if (!answer.ok) throw new Error(String(answer.status));
  const why = await answer.json(), dialog = document.getElementById("why");
  document.getElementById("why-text").replaceChildren(...why.says.map((text) => Object.assign(document.createElement("p"), { textContent: text })));
  dialog.showModal();
  light(await leafInto(document.getElementById("leafbox"), leaf), why);
  dialog.addEventListener("close", () => from.focus?.(), { once: true });
}
