/* Shows what was picked, before it is sent.
 *
 * Markup:  <fieldset data-module="file-pick"> with one or two <input type="file"> of one name and a
 *          <ul class="picked">   (macro file)
 * Where the field takes one file only, picking in one input empties the other. An input left empty is
 * not sent at all. */

export function start(group) {
  const inputs = [...group.querySelectorAll('input[type="file"]')];
  const list = group.querySelector(".picked");
  const many = inputs.some((input) => input.multiple);

  function draw() {
    list.replaceChildren();
    for (const file of inputs.flatMap((input) => [...input.files])) {
      const item = document.createElement("li");
      if (/^image\/(jpeg|png|webp|gif|avif)$/.test(file.type)) {
        const url = URL.createObjectURL(file);
        const image = document.createElement("img");
        for (const over of ["load", "error"]) image.addEventListener(over, () => URL.revokeObjectURL(url), { once: true });
        image.src = url;
        image.alt = "";
        item.append(image);
      }
      const words = document.createElement("span");
      words.textContent = `${file.name}, ${size(file.size)}`;
      item.append(words);
      list.append(item);
    }
  }

  for (const input of inputs) {
    input.addEventListener("change", () => {
      if (!many && input.files.length) {
        for (const other of inputs) if (other !== input) other.value = "";
      }
      draw();
    });
  }

  const form = group.closest("form");
  form?.addEventListener("formdata", (event) => {
    const name = inputs[0].name;
    const kept = event.formData.getAll(name).filter((file) => file instanceof File && file.size > 0);
    if (kept.length === 0) return;
    event.formData.delete(name);
    for (const file of kept) event.formData.append(name, file);
  });
}

function size(bytes) {
  return bytes < 1_000_000 ? `${Math.max(1, Math.round(bytes / 1000))} kB` : `${(bytes / 1_000_000).toFixed(1)} MB`;
}
