/* Colour bands by tapping.
 *
 * Markup:  <div data-module="bands" data-colours="black brown …"> around a text field (macro text)
 * Each tap adds its colour to the field, which stays readable and can be typed in as well. */

export function start(part) {
  const input = part.querySelector("input");
  const row = document.createElement("div");
  row.className = "bands";

  function write(names) {
    input.value = names.join(" ");
    input.dispatchEvent(new Event("input", { bubbles: true }));
    input.dispatchEvent(new Event("change", { bubbles: true }));
  }

  function button(words, act, name) {
    const made = document.createElement("button");
    made.type = "button";
    made.className = name ? `band-key band-${name}` : "band-key";
    made.textContent = words;
    made.addEventListener("click", act);
    row.append(made);
  }

  const names = () => input.value.split(/[\s,]+/).filter(Boolean);
  for (const colour of part.dataset.colours.split(" ")) {
    button(colour, () => names().length < 6 && write([...names(), colour]), colour);
  }
  button("one back", () => write(names().slice(0, -1)));
  input.closest(".field").append(row);
}
