/* A keypad for values in bench notation, for gloved hands: figures, and the letters that stand for the point.
 *
 * Markup:  <form data-module="keypad"> with fields <input data-keys="yes">; data-keys="volts" for readings in volts,
 *          with a minus and a key that goes on to the next of them.
 * The pad stands below the field that has the focus; the field can be typed in as well. */

const VOLTS = ["1", "2", "3", "4", "5", "6", "7", "8", "9", "0", ".", "-", "m", "<"];
const KEYS = ["1", "2", "3", "4", "5", "6", "7", "8", "9", "0", ".", "R", "k", "M", "p", "n", "u"];

export function start(form) {
  const pad = document.createElement("div");
  pad.className = "keypad";
  pad.setAttribute("role", "group");
  pad.setAttribute("aria-label", "Keys for the value");
  let field = null;

  function type(change) {
    field.value = change(field.value);
    field.dispatchEvent(new Event("input", { bubbles: true }));
    field.focus();
  }

  function key(words, change, label) {
    const made = document.createElement("button");
    made.type = "button";
    made.className = "key";
    made.textContent = words;
    if (label) made.setAttribute("aria-label", label);
    made.addEventListener("pointerdown", (event) => event.preventDefault());
    made.addEventListener("click", () => type(change));
    pad.append(made);
  }

  const inputs = [...form.querySelectorAll("[data-keys]")];
  const volts = inputs.some((input) => input.dataset.keys === "volts");
  for (const one of volts ? VOLTS : KEYS) key(one, (value) => value + one);
  key("⌫", (value) => value.slice(0, -1), "One back");

  if (volts) {
    const next = document.createElement("button");
    next.type = "button";
    next.className = "key key-next";
    next.textContent = "Next";
    next.addEventListener("pointerdown", (event) => event.preventDefault());
    next.addEventListener("click", () => inputs[inputs.indexOf(field) + 1]?.focus());
    pad.append(next);
  }

  for (const input of inputs) {
    input.addEventListener("focus", () => {
      field = input;
      input.closest(".field").append(pad);
    });
  }
}
