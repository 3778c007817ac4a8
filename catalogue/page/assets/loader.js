// Script and style of a part come from the server once, not with every answer: they are a third of a keystroke.
let part;
export default function (component) {
  const root = component.parentElement;
  const link = root.querySelector("link");
  const styled = link.sheet ? Promise.resolve() : new Promise((done) => (link.onload = link.onerror = done));
  part ??= import(new URL("ROUTE/assets/PART.js?v=VERSION", location.href).href); // we run from a blob, without a base
  root.waiting = component; // only the last of several answers that come while the script loads
  Promise.all([part, styled]).then(([found]) => {
    if (root.waiting !== component) return;
    root.querySelector(".PART").hidden = false;
    found.default(component);
  });
}
