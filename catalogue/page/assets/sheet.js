// A sheet of markup made by the server, where every text was escaped. DOMParser runs no scripts.
// data: { markup } or { fault, details }: one line, and a button that copies the details.
export default function ({ data, parentElement }) {
  const root = parentElement.querySelector(".sheet");
  if (data.fault) return fault(root, data);
  if (root.markup === data.markup) return;
  root.markup = data.markup;
  const parsed = new DOMParser().parseFromString(data.markup, "text/html");
  root.replaceChildren(...parsed.body.childNodes);
}

function fault(root, { fault, details }) {
  const box = document.createElement("p");
  box.className = "fault";
  box.setAttribute("role", "alert");
  const button = document.createElement("button");
  button.type = "button";
  button.textContent = "Copy the details";
  button.addEventListener("click", async () => {
    try {
      await navigator.clipboard.writeText(details);
      button.textContent = "Copied";
    } catch {
      const text = document.createElement("textarea"); // where the clipboard is closed: shown, to copy by hand
      text.readOnly = true;
      text.setAttribute("aria-label", "Details of the fault");
      text.value = details;
      box.after(text);
      text.select();
      button.remove();
    }
  });
  box.append(fault, " ", button);
  root.replaceChildren(box);
}
