/* Says something in the page's live region (the <div class="status"> of the base page).
 *
 * say("Saved 14:03")                      words only
 * say("Put back …", ["Throw it away", f]) words and a button that runs f
 * say("")                                 empties it
 * Imported by other modules; never bound by data-module. */

export function say(words, action) {
  const place = document.querySelector(".status");
  if (!place) return;
  place.replaceChildren();
  if (!words) return;
  const text = document.createElement("span");
  text.textContent = words;
  place.append(text);
  if (action) {
    const button = document.createElement("button");
    button.type = "button";
    button.className = "btn";
    button.textContent = action[0];
    button.addEventListener("click", action[1]);
    place.append(button);
  }
}
