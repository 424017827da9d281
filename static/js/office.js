// Enter in the client search looks for a client; in a plain form it would press "Book".
document.addEventListener("keydown", (event) => {
  if (event.key === "Enter" && event.target.id === "id_q" && event.target.form?.id === "booking") {
    event.preventDefault();
    event.target.form.querySelector("button[name=find]")?.click();
  }
});

// The length that is proposed follows purpose and size, unless somebody typed another.
let proposed = "";
const proposal = () => document.querySelector("input[name=proposed_minutes]")?.value ?? "";
document.addEventListener("htmx:beforeSwap", () => { proposed = proposal(); });
document.addEventListener("htmx:afterSettle", () => {
  const length = document.getElementById("id_length_minutes");
  if (length && proposed && length.value === proposed && proposal()) length.value = proposal();
});

// In a list of visits the arrow keys go from row to row; Enter opens, as in any link.
document.addEventListener("keydown", (event) => {
  const step = { ArrowDown: 1, ArrowUp: -1 }[event.key];
  if (!step || !event.target.matches?.("[data-row]")) return;
  const rows = [...document.querySelectorAll("[data-row]")];
  const next = rows[rows.indexOf(event.target) + step];
  if (next) { event.preventDefault(); next.focus(); }
});
