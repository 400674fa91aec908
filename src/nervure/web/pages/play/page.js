// Play: each face of the page loads what it needs.
if (document.getElementById("table")) import("./table.js");
else if (document.getElementById("new-table")) import("./lobby.js");
if (document.getElementById("replay")) import("./replay.js");
if (document.querySelector("[data-lights]")) import("./after.js");
