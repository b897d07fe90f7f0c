// data-buzz on a message: the phone buzzes and sounds once, where it may, when the page shows it.
const BUZZ_MS = 120;

function tone() {
  const sound = new AudioContext();
  if (sound.state !== "running") return;
  const pitch = sound.createOscillator();
  pitch.frequency.value = 880;
  pitch.connect(sound.destination);
  pitch.start();
  pitch.stop(sound.currentTime + BUZZ_MS / 1000);
}

// a browser lets only a page that has been touched make itself felt
if (document.querySelector("[data-buzz]") && navigator.userActivation?.hasBeenActive) {
  if ("vibrate" in navigator) navigator.vibrate(BUZZ_MS);
  if ("AudioContext" in window) tone();
}
