// a button named "ask": its part alone is sent, with what others mark, and answered in its place.
const SENT_WITH_IT = ["csrfmiddlewaretoken", "visit", "done_at", "done_which"];
function saidIn(form, button) {
  const starts = ["", "stay-"].map((before) => `${before}${button.value.split(":")[0]}-`);
  const too = [...form.querySelectorAll("[data-sent-too]")].map((one) => one.name);
  const isSent = (name) => [...SENT_WITH_IT, ...too].includes(name);
  const said = new FormData();
  for (const [name, value] of new FormData(form)) {
    // a photo stays chosen here: it is sent when the round is saved
    if (value instanceof File) continue;
    if (isSent(name) || starts.some((start) => name.startsWith(start))) said.append(name, value);
  }
  said.append(button.name, button.value);
  return said;
}

async function answerTo(form, button) {
  const answer = await fetch(location.href, {
    method: "POST",
    body: saidIn(form, button),
    headers: { "X-Part": button.value.split(":")[0] },
  });
  if (!answer.ok || answer.redirected) throw new Error(`answered ${answer.status}`);
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  return page.querySelector("details[id^=part-]");
}

function putInPlace(old, answered) {
  for (const file of old.querySelectorAll("input[type=file]")) {
    answered.querySelector(`input[type=file][name="${file.name}"]`)?.replaceWith(file);
  }
  old.replaceWith(answered);
  answered.dispatchEvent(new Event("change", { bubbles: true }));
  const next = answered.querySelector(".errorlist, [data-answer]") || answered;
  next.tabIndex = -1;
  next.focus({ preventScroll: true });
  next.scrollIntoView({ block: "start" });
}

async function ask(form, button) {
  const part = button.closest("details[id^=part-]");
  part.setAttribute("aria-busy", "true");
  try {
    putInPlace(part, await answerTo(form, button));
  } catch {
    button.dataset.failed = "yes";
    form.requestSubmit(button);
  }
}

document.addEventListener(
  "submit",
  (event) => {
    const button = event.submitter;
    if (!button || button.name !== "ask" || button.dataset.failed) return;
    event.preventDefault();
    if (!button.closest("[aria-busy]")) ask(event.target, button);
  },
  true,
);
