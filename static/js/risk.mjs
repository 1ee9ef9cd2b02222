/* Shows the risk as it follows from severity and probability, while they are being chosen. The server computes it anew.
 *
 * Markup:  <div data-module="risk" data-severity="severity" data-probability="probability" data-matrix='{"a":"HSSS",…}'>
 *          one [data-risk-line="S"|"H"|"M"|"L"|"N"|""] for each outcome, of which one is shown
 * The row of the matrix is the probability, its letters belong to severity 1 to 4; severity 0 is N. */

export function start(part) {
  const matrix = JSON.parse(part.dataset.matrix);
  const lines = [...part.querySelectorAll("[data-risk-line]")];

  function draw() {
    const severity = part.querySelector(`input[name="${part.dataset.severity}"]:checked`)?.value;
    const probability = part.querySelector(`[name="${part.dataset.probability}"]`).value;
    let letter = "";
    if (severity === "0") letter = "N";
    else if (severity && probability) letter = matrix[probability][Number(severity) - 1];
    for (const line of lines) line.hidden = line.dataset.riskLine !== letter;
    for (const only of part.querySelectorAll("[data-if-hurt]")) only.hidden = severity === "0";
  }

  part.addEventListener("change", draw);
  draw();
}
