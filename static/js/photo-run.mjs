/* Several photos in a row without leaving the page.
 *
 * Markup:  <form data-module="photo-run"> with file inputs; the page holds the row of photos, id "photo-list"
 * What is taken or chosen goes at once, with the words that stand in the form (see one-by-one.mjs). Without script the form sends
 * them all. */

import { oneByOne } from "./one-by-one.mjs";
import { say } from "./say.mjs";

export function start(form) {
  const inputs = [...form.querySelectorAll('input[type="file"]')];
  const photos = oneByOne(form, {
    show(page) {
      const list = page.getElementById("photo-list");
      if (list) document.getElementById("photo-list").replaceWith(document.importNode(list, true));
    },
    done(added, refused) {
      if (added && !refused.length) form.dispatchEvent(new Event("draft-saved"));
    },
  });

  function hasPlace() {
    return Boolean(form.querySelector('[name="place"]:checked') || form.querySelector('[name="other_place"]').value.trim());
  }

  function take() {
    const name = inputs[0].name;
    for (const file of inputs.flatMap((input) => [...input.files])) {
      const body = new FormData(form);
      body.delete(name);
      body.append(name, file, file.name);
      photos.add(body, file);
      form.querySelector(".kept-files")?.remove(); // what the shop kept goes along with the first
    }
    for (const input of inputs) input.value = "";
    inputs[0].dispatchEvent(new Event("files-taken"));
    photos.send();
  }

  form.addEventListener("change", (event) => {
    if (event.target.type !== "file" || !inputs.some((input) => input.files.length)) return;
    if (hasPlace()) take();
    else say("Choose the place first, then it goes at once.");
  });

  form.addEventListener("submit", (event) => {
    if (!hasPlace() || !inputs.some((input) => input.files.length)) return;
    event.preventDefault();
    event.stopImmediatePropagation();
    take();
  }, true);
}
