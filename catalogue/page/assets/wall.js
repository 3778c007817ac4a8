// The wall: each style as a shelf of names drawn in its faces, the most typical first; capitals of all have one height.
//
// data: { key, query, route, shelves: [{ style, means, many }], filtered, name, say }
// The names of a shelf are asked for at `${route}/wall` when it comes near the screen; until then its place is kept.
// "Only these" sets the trigger `go`: { to: "style", style }, a name { to, face }. All texts are set as text.

const NS = "http://www.w3.org/2000/svg";
const CAP_PX = 26; // height of the capitals on the screen
const MOST_PX = 230; // a longer name is drawn smaller

export default function (component) {
  const root = component.parentElement.querySelector(".wall");
  if (!root.wall) root.wall = new Wall(root);
  root.wall.update(component.data, component.setTriggerValue);
}

function make(name, kind, text) {
  const node = document.createElement(name);
  if (kind) node.className = kind;
  if (text !== undefined) node.textContent = text;
  return node;
}

class Wall {
  constructor(root) {
    this.root = root;
    this.eye = new IntersectionObserver((seen) => this.seen(seen), { rootMargin: "300px" });
  }

  update(data, setTrigger) {
    this.go = (value) => setTrigger("go", { ...value, at: Date.now() });
    if (this.data?.key === data.key) return;
    this.data = data;
    this.eye.disconnect();
    const say = make("p", "say", data.say);
    say.setAttribute("role", "status");
    this.root.replaceChildren(...data.shelves.map((shelf) => this.shelf(shelf)), say);
    this.left = data.shelves.length;
    this.root.dataset.key = data.key;
    delete this.root.dataset.drawn;
    this.root.querySelectorAll(".shelf").forEach((shelf) => this.eye.observe(shelf));
  }

  shelf({ style, means, many }) {
    const box = make("section", "shelf");
    box.style_ = style;
    const head = make("div", "head");
    const only = this.button("only", this.data.filtered ? "all styles" : "only these", () =>
      this.go({ to: "style", style: this.data.filtered ? "" : style }),
    );
    only.setAttribute("aria-label", this.data.filtered ? "Show all styles" : `List only ${style}`);
    head.append(make("h2", "", style), make("span", "means", means), make("span", "many", many), only);
    const row = make("ul", "row");
    row.tabIndex = 0;
    row.setAttribute("aria-label", `${this.data.name} in faces of ${style}, most typical first`);
    box.append(head, row);
    return box;
  }

  button(kind, label, does) {
    const button = make("button", kind, label);
    button.type = "button";
    button.addEventListener("click", does);
    return button;
  }

  seen(entries) {
    for (const { target, isIntersecting } of entries) {
      if (!isIntersecting || target.asked) continue;
      target.asked = true;
      this.fill(target, this.data.key);
    }
  }

  async fill(shelf, key) {
    const row = shelf.querySelector(".row");
    const query = `${this.data.query}&style=${encodeURIComponent(shelf.style_)}`;
    const found = await fetch(`${this.data.route}/wall?${query}`)
      .then((answer) => answer.json())
      .catch(() => ({ error: "did not come; reload the page" }));
    if (!row.isConnected || this.data.key !== key) return;
    if (found.error) row.replaceChildren(make("li", "trouble", found.error));
    else row.replaceChildren(...found.names.map((one) => this.name(one)));
    shelf.dataset.drawn = "yes";
    if (this.root.querySelectorAll(".shelf[data-drawn]").length === this.left) this.root.dataset.drawn = key;
  }

  name(one) {
    const item = make("li", "name");
    const open = this.button("draw", undefined, () => this.go({ to: "make", face: one.i }));
    open.setAttribute("aria-label", `Make it in ${one.f} ${one.s}`);
    open.append(this.drawing(one));
    const like = this.button("like", "like it", () => this.go({ to: "like", face: one.i }));
    like.setAttribute("aria-label", `More like ${one.f} ${one.s}`);
    const foot = make("span", "foot");
    foot.append(make("b", "", one.f), like);
    item.append(open, foot);
    return item;
  }

  drawing({ d, b, c }) {
    const [x0, y0, x1, y1] = b;
    const scale = Math.min(CAP_PX / c, MOST_PX / Math.max(x1 - x0, 1));
    const svg = document.createElementNS(NS, "svg");
    svg.setAttribute("viewBox", `${x0} ${y0} ${Math.max(x1 - x0, 1)} ${Math.max(y1 - y0, 1)}`);
    svg.setAttribute("width", ((x1 - x0) * scale).toFixed(1));
    svg.setAttribute("height", ((y1 - y0) * scale).toFixed(1));
    svg.setAttribute("aria-hidden", "true");
    const path = document.createElementNS(NS, "path");
    path.setAttribute("d", d);
    svg.append(path);
    return svg;
  }
}
