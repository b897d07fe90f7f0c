// data-auto-submit on a GET form: a changed choice shows its list without pressing the button.
const PAUSE_MS = 500;
let waiting;

document.addEventListener("change", (event) => {
  const form = event.target.form;
  if (!form || !form.matches("[data-auto-submit]")) return;
  clearTimeout(waiting);
  waiting = setTimeout(() => form.requestSubmit(), PAUSE_MS);
});
