// data-keep-awake on the body: the screen stays on while the page is in front, where it may.
async function keepAwake() {
  if (document.visibilityState !== "visible") return;
  try {
    await navigator.wakeLock.request("screen");
  } catch {
    // refused on a low battery: the page works the same
  }
}

if (document.body.matches("[data-keep-awake]") && "wakeLock" in navigator) {
  keepAwake();
  document.addEventListener("visibilitychange", keepAwake);
}
