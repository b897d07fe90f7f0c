// template[data-kept]: a bar for each that was typed at this cart and not saved, kept by keep-typed.js.
const keptForm = document.querySelector("form[data-keep-typed]");

function keptAt(at) {
  const said = { hour: "2-digit", minute: "2-digit", hourCycle: "h23" };
  if (new Date(at).toDateString() !== new Date().toDateString()) said.weekday = "short";
  return new Date(at).toLocaleString(document.documentElement.lang, said);
}

function hiddenInput([name, value]) {
  return Object.assign(document.createElement("input"), { type: "hidden", name, value });
}

function bringBack(key, kept) {
  const form = Object.assign(document.createElement("form"), { method: "post", hidden: true });
  const token = keptForm.elements.csrfmiddlewaretoken;
  const said = [...kept.typed, [token.name, token.value], ["ask", "round:shown"]];
  if (kept.hasPhotos) said.push(["photos_chosen", "on"]);
  form.append(...said.map(hiddenInput));
  document.body.append(form);
  sessionStorage.setItem(KEPT, key);
  form.submit();
}

function offer(template, key, kept) {
  const bar = template.content.firstElementChild.cloneNode(true);
  bar.querySelector("time").textContent = keptAt(kept.at);
  bar.querySelector("[data-photos]").hidden = !kept.hasPhotos;
  bar.querySelector("[data-bring]").addEventListener("click", () => bringBack(key, kept));
  bar.querySelector("[data-throw]").addEventListener("click", () => {
    localStorage.removeItem(key);
    bar.remove();
    document.querySelector("#main").focus();
  });
  template.before(bar);
  // a reload goes back down to where the page was, past the bar
  history.scrollRestoration = "manual";
  bar.scrollIntoView({ block: "center" });
}

// each page has the token of its visit signed anew
const without = (typed) => JSON.stringify(typed.filter(([name]) => name !== "visit"));
const shownNow = without(typedIn(keptForm));
for (const [key, kept] of allKept()) {
  const isHere = key.startsWith(`${KEPT}${keptForm.dataset.keepTyped}|`);
  const isShown = kept.id === keptForm.dataset.visit && without(kept.typed) === shownNow;
  if (isHere && !isShown) {
    offer(document.querySelector("template[data-kept]"), key, kept);
  }
}
