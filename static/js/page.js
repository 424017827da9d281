// What every page needs beyond plain HTML: failures of a swap are said, never silent.
const say = (text) => {
  let place = document.getElementById("page-problem");
  if (!place) {
    place = document.createElement("div");
    place.id = "page-problem";
    place.className = "notice problem";
    place.setAttribute("role", "alert");
    document.getElementById("content").prepend(place);
  }
  place.textContent = text;
};

document.addEventListener("htmx:sendError", () => say("The server could not be reached. What you entered is still on this page; try again when there is signal."));
document.addEventListener("htmx:responseError", (event) => {
  const status = event.detail.xhr.status;
  say(status === 403 ? "You may not do this, or you were signed out. Open the page again and sign in." : `The server refused this (${status}). What you entered is still on this page.`);
});
// A form that was refused comes back with 422 and its messages: show it like a success.
document.addEventListener("htmx:beforeSwap", (event) => {
  if (event.detail.xhr.status === 422) {
    event.detail.shouldSwap = true;
    event.detail.isError = false;
  }
});
