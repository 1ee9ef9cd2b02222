/* Minus and plus beside a whole number, for gloved or dirty hands.
 *
 * Markup:  <div data-module="stepper"> <button data-step="-1" hidden> <input type="number"> <button data-step="1" hidden>
 * The buttons stay hidden without script. They respect min and max, and an empty field counts as 0;
 * minus on an empty field enters it. */

export function start(row) {
  const input = row.querySelector("input");
  const buttons = [...row.querySelectorAll("[data-step]")];
  const low = input.min === "" ? -Infinity : Number(input.min);
  const high = input.max === "" ? Infinity : Number(input.max);

  function ends() {
    const blank = input.value === "";
    const now = Number(input.value || 0);
    for (const button of buttons) {
      const step = Number(button.dataset.step);
      button.setAttribute("aria-disabled", String(step < 0 ? !blank && now <= low : now >= high));
    }
  }

  for (const button of buttons) {
    button.hidden = false;
    button.addEventListener("click", () => {
      const next = Number(input.value || 0) + Number(button.dataset.step);
      input.value = String(Math.min(high, Math.max(low, next)));
      input.dispatchEvent(new Event("input", { bubbles: true }));
      input.dispatchEvent(new Event("change", { bubbles: true }));
    });
  }
  input.addEventListener("input", ends);
  ends();
}
