/* A badge on the page of names and PINs: from a scanner that types, or by the camera where the browser reads codes itself.
 *
 * Markup:  <form data-module="badge"> with a field "badge", <video hidden>, <p data-said>, <button data-camera hidden>
 * A scanner types faster than a hand. What it types while the focus is nowhere goes into the field; its Enter sends the form. */

const BADGE = /^[BCDEFGHJKLNPRSTV]{32}$/;
const HAND_MS = 60; // between two keys: a hand takes longer, a scanner less (common practice, no source)
const ENOUGH = 4; // keys at that speed: these are no hand's
const LOOKS_MS = 200;
const GIVE_UP_MS = 45_000;

function typedByScanner(field) {
  let keys = "";
  let last = -Infinity;
  document.addEventListener("keydown", (event) => {
    if (document.activeElement !== document.body || !/^[a-z]$/i.test(event.key) || event.ctrlKey || event.metaKey || event.altKey) return;
    keys = event.timeStamp - last < HAND_MS ? keys + event.key : event.key;
    last = event.timeStamp;
    if (keys.length < ENOUGH) return;
    field.value = keys;
    keys = "";
    field.focus(); // the rest comes here by itself
    event.preventDefault();
  });
}

function wait(ms) {
  return new Promise((resolve) => {
    setTimeout(resolve, ms);
  });
}

export function start(form) {
  const field = form.elements.namedItem("badge");
  typedByScanner(field);
  if (!("BarcodeDetector" in window) || !navigator.mediaDevices?.getUserMedia) return;

  const button = form.querySelector("[data-camera]");
  const view = form.querySelector("video");
  const said = form.querySelector("[data-said]");
  let stream = null;

  function stop() {
    for (const track of stream?.getTracks() ?? []) track.stop();
    stream = null;
    view.srcObject = null;
    view.hidden = true;
    button.textContent = "Scan with the camera";
  }

  async function look() {
    const detector = new window.BarcodeDetector({ formats: ["qr_code"] });
    const end = performance.now() + GIVE_UP_MS;
    while (stream && performance.now() < end) {
      const found = (await detector.detect(view)).map((code) => code.rawValue).find((code) => BADGE.test(code));
      if (found) return found;
      await wait(LOOKS_MS);
    }
    return "";
  }

  async function scan() {
    said.textContent = "";
    try {
      stream = await navigator.mediaDevices.getUserMedia({ video: true });
      view.srcObject = stream;
      view.hidden = false;
      button.textContent = "Stop the camera";
      await view.play();
      field.value = await look();
    } catch {
      said.textContent = "The camera cannot be used. Allow it in the browser, or use a scanner, your PIN or your password.";
      stop();
      return;
    }
    const stopped = !stream;
    stop();
    if (field.value) form.requestSubmit();
    else if (!stopped) said.textContent = "No badge was seen. Hold it flat and near, or use your PIN or your password.";
  }

  button.hidden = false;
  button.addEventListener("click", () => (stream ? stop() : scan()));
  window.addEventListener("pagehide", stop);
}
