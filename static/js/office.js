// Enter in the client search looks for a client; in a plain form it would press "Book".
document.addEventListener("keydown", (event) => {
  if (event.key === "Enter" && event.target.id === "id_q" && event.target.form?.id === "booking") {
    event.preventDefault();
    event.target.form.querySelector("button[name=find]")?.click();
  }
});
