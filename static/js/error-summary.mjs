/* Moves the focus to the summary of what cannot stand, so that it is read out first.
 *
 * Markup:  <section class="errors" tabindex="-1" data-module="error-summary">   (macro error_summary) */

export function start(element) {
  element.focus({ preventScroll: false });
}
