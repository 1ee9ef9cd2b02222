/* Proposes for the kind that is tapped: the usual tag while nobody has written one, the usual cavity, and the pieces of the
 * last of its kind.
 *
 * Markup:  <div data-module="as-last" data-usual='{"control": {"mark": "P2", "last": {words, stack, counts, thread, side …}}}'>
 *            <button hidden></button> <p>what stands there without</p> </div>   inside the form of a removal
 * A tap on the button fills stack, counts, thread and place in; all of it can be changed after. */

import { say } from "./say.mjs";

export function start(row) {
  const form = row.closest("form");
  const usual = JSON.parse(row.dataset.usual);
  const button = row.querySelector("button");
  const mark = form.elements.mark;
  const proposed = Object.values(usual).map((one) => one.mark);
  let written = !proposed.includes(mark.value.trim());
  let ours = false;
  const usually = form.querySelector('[name="cavity"][value="as usual"] + label');

  const chosen = () => usual[form.querySelector('[name="kind"]:checked')?.value];

  function put(field, value) {
    field.value = value;
    ours = true;
    for (const kind of ["input", "change"]) field.dispatchEvent(new Event(kind, { bubbles: true }));
    ours = false;
  }

  function tap(name, value) {
    const chip = [...form.querySelectorAll(`[name="${name}"]`)].find((one) => one.value === value);
    if (!chip || chip.checked) return;
    chip.checked = true;
    chip.dispatchEvent(new Event("change", { bubbles: true }));
  }

  function offer() {
    const found = chosen();
    if (!found) return;
    if (!written && mark.value !== found.mark) put(mark, found.mark);
    if (usually) usually.textContent = found.cavity ? `as usual: ${found.cavity}` : "as usual: in none";
    button.hidden = !found.last;
    button.textContent = found.last?.words ?? "";
    row.querySelector("p").hidden = Boolean(found.last);
  }

  button.addEventListener("click", () => {
    const { last } = chosen();
    put(form.elements.stack, last.stack.join("\n"));
    put(form.elements.stack_times, last.times > 1 ? String(last.times) : "");
    put(form.elements.other_stacks, last.others.join("\n"));
    if (last.times > 1 || last.others.length) form.elements.other_stacks.closest("details").open = true;
    const others = [];
    for (const field of form.querySelectorAll('[name^="count_"]')) put(field, "");
    for (const [piece, count] of Object.entries(last.counts)) {
      const field = form.elements[`count_${piece.replace(/[ -]/g, "_")}`];
      if (field) put(field, String(count));
      else others.push(`${count} ${piece}`);
    }
    put(form.elements.other_pieces, others.join("\n"));
    put(form.elements.thread, last.thread);
    for (const name of ["side", "place", "unit"]) if (last[name]) tap(name, last[name]);
    if (Object.keys(last.counts).length) form.elements.other_pieces.closest("details").open = true;
    if (last.fixed_to) {
      put(form.elements.fixed_to, last.fixed_to);
      form.elements.fixed_to.closest("details").open = true;
    }
    const many = last.times > 1 ? [`${last.times} such stacks`] : [];
    const pieces = [...last.stack, ...many, ...last.others, ...Object.entries(last.counts).map(([piece, count]) => `${count} ${piece}`)];
    say(`${last.words}: ${[...pieces, last.fixed_to ? `fixed to ${last.fixed_to}` : ""].filter(Boolean).join(", ")}`);
  });

  form.addEventListener("change", (event) => {
    if (event.target.name === "kind") offer();
  });
  mark.addEventListener("input", () => {
    if (!ours) written = true;
  });
  offer();
}
