// Lights lanes, structures and targets of a still leaf.
const held = new Map();

/** Fetch a leaf once and put it into a box. */
export async function leafInto(box, address) {
  if (!held.has(address)) {
    const answer = await fetch(address, { headers: { accept: "application/json" } });
    if (!answer.ok) throw new Error(String(answer.status));
    held.set(address, await answer.text());
  }
  if (!box.querySelector("svg.leaf")) box.innerHTML = held.get(address);
  const svg = box.querySelector("svg.leaf");
  svg.style.setProperty("--lane", `${svg.dataset.laneGap}px`);
  svg.style.setProperty("--size", `${svg.dataset.size}px`);
  return svg;
}

export function light(svg, { lanes = [], far = [], parts = [], asked = [] }) {
  for (const part of svg.querySelectorAll(".lit, .asked")) part.classList.remove("lit", "asked", "far");
  svg.classList.toggle("lighting", lanes.length + far.length + parts.length > 0);
  const lit = new Set(lanes), other = new Set(far), named = new Set(parts), wanted = new Set(asked);
  for (const lane of svg.querySelectorAll("[data-lane]")) {
    if (lit.has(lane.dataset.lane)) lane.classList.add("lit");
    else if (other.has(lane.dataset.lane)) lane.classList.add("lit", "far");
  }
  for (const part of svg.querySelectorAll("[data-id]")) {
    if (named.has(part.dataset.id)) part.classList.add("lit");
    if (wanted.has(part.dataset.id)) part.classList.add("lit", "asked");
  }
}
