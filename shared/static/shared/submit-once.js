// data-submit-once on a form: a second press sends nothing; the server judges repeats by id.
document.addEventListener("submit", (event) => {
  const form = event.target;
  if (!form.matches("[data-submit-once]") || event.defaultPrevented) return;
  if (form.dataset.sent) {
    event.preventDefault();
    return;
  }
  form.dataset.sent = "yes";
  if (event.submitter) event.submitter.setAttribute("aria-disabled", "true");
  const ids = ownIds().map((input) => input.value);
  history.replaceState({ ids }, "");
});

function ownIds() {
  return [...document.querySelectorAll("input[type=hidden]:is([name=act], [name=visit])")];
}

// the Back button brings what was typed: with its id of then it cannot be recorded twice
window.addEventListener("pageshow", () => {
  const [arrival] = performance.getEntriesByType("navigation");
  if (arrival?.type !== "back_forward" || !history.state?.ids) return;
  const inputs = ownIds();
  if (inputs.length !== history.state.ids.length) return;
  inputs.forEach((input, place) => {
    input.value = history.state.ids[place];
  });
});

// a page brought back by the Back button must be sendable again
window.addEventListener("pageshow", (event) => {
  if (!event.persisted) return;
  for (const form of document.querySelectorAll("form[data-sent]")) {
    delete form.dataset.sent;
    for (const button of form.querySelectorAll("[aria-disabled]")) {
      button.removeAttribute("aria-disabled");
    }
  }
});
