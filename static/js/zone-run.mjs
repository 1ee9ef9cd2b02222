/* One photo of each zone, each sent as soon as it is taken, so that the camera is all one has to touch.
 *
 * Markup:  <form data-module="zone-run"> with a file input "photos_…" for each zone; what is known of a zone stands in the element
 *            "zone-…" of the same ending, the row of photos in "zone-photos"
 * The zone then says what the shop kept (see one-by-one.mjs). Without script, and with the form's own button, all that was picked
 * goes together. */

import { oneByOne } from "./one-by-one.mjs";

const ZONE = /^photos_([a-z]+)$/;

export function start(form) {
  const photos = oneByOne(form, {
    show(page) {
      for (const there of page.querySelectorAll("[id^=zone-]")) {
        document.getElementById(there.id)?.replaceChildren(...document.importNode(there, true).childNodes);
      }
    },
    done() {
      form.dispatchEvent(new Event("zones-sent"));
    },
  });

  form.addEventListener("change", ({ target: input }) => {
    if (input.type !== "file" || !ZONE.test(input.name) || !input.files.length) return;
    for (const file of input.files) {
      const body = new FormData();
      body.set("page_token", form.elements.page_token.value);
      body.set("zone", form.elements.zone.value);
      body.set("then", "stay");
      body.append(input.name, file, file.name);
      photos.add(body, file);
    }
    input.value = "";
    photos.send();
  });

  /* Going on while photos are still on their way would leave them behind: it waits for them. */
  form.addEventListener("submit", (event) => {
    if (!photos.isWaiting()) return;
    event.preventDefault();
    event.stopImmediatePropagation();
    const button = event.submitter;
    form.addEventListener("zones-sent", () => form.requestSubmit(button), { once: true });
    photos.send();
  }, true);
}
