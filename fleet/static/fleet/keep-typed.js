// data-keep-typed on a form: what is typed is kept on this phone until its round is saved.
const KEPT = "typed|";
const KEPT_MS = 24 * 60 * 60 * 1000;
const KEEP_AFTER_MS = 400;

function allKept() {
  const keys = Object.keys(localStorage).filter((key) => key.startsWith(KEPT));
  return keys.map((key) => [key, JSON.parse(localStorage.getItem(key))]);
}

function typedIn(form) {
  const isKept = ([name, said]) => !(said instanceof File) && name !== "csrfmiddlewaretoken";
  return [...new FormData(form)].filter(isKept);
}

const hasPhotos = (form) => [...new FormData(form).values()].some((said) => said.size > 0);

function keepFrom(form) {
  const own = `${KEPT}${form.dataset.keepTyped}|`;
  const sent = sessionStorage.getItem(KEPT);
  // the answer to what was just sent goes on with what was kept of it
  const isOwn = sent?.startsWith(own) && localStorage.getItem(sent) !== null;
  const goesOn = isOwn && "bound" in form.dataset;
  const key = goesOn ? sent : own + Date.now();
  let isTyped = goesOn;
  let resting;
  // the Back button may have brought the token of then
  const then = history.state;
  const isOfThen = () => then?.visit && then.ids?.includes(form.elements.visit.value);
  const id = () => (isOfThen() ? then.visit : form.dataset.visit);
  const keep = () => {
    clearTimeout(resting);
    if (!isTyped) return;
    const kept = { id: id(), at: Date.now(), hasPhotos: hasPhotos(form), typed: typedIn(form) };
    localStorage.setItem(key, JSON.stringify(kept));
    isTyped = false;
  };
  const typed = ({ target }) => {
    isTyped ||= target.name !== "cautions";
    clearTimeout(resting);
    resting = setTimeout(keep, KEEP_AFTER_MS);
  };
  for (const change of ["input", "change"]) form.addEventListener(change, typed);
  for (const leaving of ["pagehide", "visibilitychange"]) window.addEventListener(leaving, keep, true);
  document.addEventListener("submit", (event) => {
    keep();
    if (event.target !== form || event.defaultPrevented) return;
    sessionStorage.setItem(KEPT, key);
    history.replaceState({ ...history.state, visit: id() }, "");
  });
  sessionStorage.removeItem(KEPT);
  keep();
}

const savedRound = document.querySelector("[data-saved-round]");
for (const [key, { id, at }] of allKept()) {
  const isSaved = savedRound?.dataset.savedRound === id;
  if (isSaved || Date.now() - at > KEPT_MS) localStorage.removeItem(key);
}
for (const form of document.querySelectorAll("form[data-keep-typed]")) keepFrom(form);
