// The lobby: as many rows as there are seats.
const seats = document.getElementById("seats");
function fit() {
  for (const row of document.querySelectorAll("[data-seat]")) {
    const isIn = Number(row.dataset.seat) <= Number(seats.value);
    row.hidden = !isIn;
    row.disabled = !isIn;
  }
}
seats.addEventListener("change", fit);
fit();
