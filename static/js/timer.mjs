/* Figures that run on. The moment a timer began is the server's and so are its hours: this only draws them on.
 *
 * Markup:  <strong data-module="timer" data-seconds="4321">1:12:01</strong>   seconds passed when the page was made
 * Without script the figures stand still at what they were when the page was opened. A tablet that slept shows the right figures
 * when it wakes, because they are counted from the time that passed, not from ticks. */

export function start(element) {
  const before = Number(element.dataset.seconds);
  const opened = Date.now();
  if (!Number.isFinite(before)) return;

  function draw() {
    const seconds = Math.max(0, Math.floor(before + (Date.now() - opened) / 1000));
    const two = (value) => String(value).padStart(2, "0");
    element.textContent = `${Math.floor(seconds / 3600)}:${two(Math.floor(seconds / 60) % 60)}:${two(seconds % 60)}`;
  }

  draw();
  setInterval(draw, 1000);
}
