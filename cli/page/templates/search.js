
// Shows only the rows that have every word; without it all rows are there. Printing shows all.
const form = document.getElementById("search");
const wanted = document.getElementById("wanted");
const found = document.getElementById("found");
const rows = [...document.querySelectorAll("tbody tr")]
  .map((row) => [row, [...row.cells].map((cell) => cell.textContent).join(" ").toLowerCase()]);
function filter() {
  const words = wanted.value.toLowerCase().split(/\s+/).filter(Boolean);
  let count = 0;
  for (const [row, text] of rows) {
    row.hidden = !words.every((word) => text.includes(word));
    count += row.hidden ? 0 : 1;
  }
  found.textContent = words.length ? `${count} of ${rows.length} rows` : "";
}
form.hidden = false;
form.addEventListener("submit", (event) => event.preventDefault());
wanted.addEventListener("input", filter);
