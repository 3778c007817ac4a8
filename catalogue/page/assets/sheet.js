// A sheet of markup made by the server, where every text was escaped. DOMParser runs no scripts.
export default function ({ data, parentElement }) {
  const root = parentElement.querySelector(".sheet");
  if (root.dataset.markup === String(data.markup.length) && root.markup === data.markup) return;
  root.markup = data.markup;
  root.dataset.markup = String(data.markup.length);
  const parsed = new DOMParser().parseFromString(data.markup, "text/html");
  root.replaceChildren(...parsed.body.childNodes);
}
