/* Shows what was picked, before it is sent, and keeps it together.
 *
 * Markup:  <fieldset data-module="file-pick"> with one or two <input type="file"> of one name and a
 *          <ul class="picked">   (macro file)
 * A file input forgets what it held when it is used again, and a camera gives one shot at a time. Where the field takes several,
 * every pick adds to those before: they are kept in one list, which the input that takes several holds. Each can be taken out
 * again. Where the field takes one file only, the last one counts. An input left empty is not sent at all.
 * Somebody else who has sent the files (photo-run.mjs) says so with a "files-taken" event on an input. */

export function start(group) {
  const inputs = [...group.querySelectorAll('input[type="file"]')];
  const list = group.querySelector(".picked");
  const holder = inputs.find((input) => input.multiple);
  let files = inputs.flatMap((input) => [...input.files]);

  function hold() {
    for (const input of inputs) if (input !== holder) input.value = "";
    const held = new DataTransfer();
    for (const file of files) held.items.add(file);
    holder.files = held.files;
  }

  function remove(file) {
    const at = files.indexOf(file);
    files = files.filter((each) => each !== file);
    if (holder) hold();
    else for (const input of inputs) input.value = "";
    draw();
    const buttons = [...list.querySelectorAll("button")];
    (buttons[Math.min(at, buttons.length - 1)] ?? inputs[0]).focus();
  }

  function draw() {
    list.replaceChildren();
    for (const file of files) {
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
      const button = document.createElement("button");
      button.type = "button";
      button.className = "btn";
      button.textContent = "Remove";
      button.setAttribute("aria-label", `Remove ${file.name}`);
      button.addEventListener("click", () => remove(file));
      item.append(words, button);
      list.append(item);
    }
  }

  const same = (one, other) => one.name === other.name && one.size === other.size && one.lastModified === other.lastModified;

  for (const input of inputs) {
    input.addEventListener("change", () => {
      const picked = [...input.files];
      if (holder) {
        files = [...files, ...picked.filter((file) => !files.some((each) => same(each, file)))];
        hold();
      } else {
        if (picked.length) for (const other of inputs) if (other !== input) other.value = "";
        files = inputs.flatMap((each) => [...each.files]);
      }
      draw();
    });
    input.addEventListener("files-taken", () => {
      files = [];
      for (const each of inputs) each.value = "";
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
