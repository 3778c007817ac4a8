// The board: finished tags in their colours, hanging from rails as they will hang, all to one millimetre scale.
//
// data: { key, query, route, rails: [{ style, tags: [{ i, f, w, query? }] }], chosen, kept [face ids], plain, name, say }
// Each tag is asked for at `${route}/hanging` when it comes near the screen, two at a time; until then its place is kept.
// Asking for a view or keeping a tag sets the trigger `go`: { to, face, on }. All texts are set as text.

const AT_ONCE = 2;
const RING_MM = 6; // radius of the key ring a tag hangs from
const WIRE_MM = 1.1;
const GUESS_MM = [46, 40]; // room of a tag that is not there yet

export default function (component) {
  const root = component.parentElement.querySelector(".board");
  if (!root.board) root.board = new Board(root);
  root.board.update(component.data, component.setTriggerValue);
}

class Board {
  constructor(root) {
    this.root = root;
    this.known = new Map();
    this.busy = 0;
    this.queue = [];
    this.eye = new IntersectionObserver((seen) => this.seen(seen), { rootMargin: "200px" });
  }

  update(data, setTrigger) {
    this.go = (value) => setTrigger("go", { ...value, at: Date.now() });
    const fresh = this.data?.key !== data.key;
    this.data = data;
    this.chosen = new Set(data.chosen);
    this.kept = new Set(data.kept);
    if (!fresh) {
      this.root.querySelectorAll(".hung").forEach((cell) => this.mark(cell));
      return;
    }
    this.queue = [];
    this.eye.disconnect();
    this.scale = this.root.clientWidth < 720 ? 2.1 : 3; // pixels a millimetre, for all tags
    this.root.replaceChildren(...data.rails.map((rail) => this.rail(rail)), this.foot());
    this.root.querySelectorAll(".hung").forEach((cell) => this.eye.observe(cell));
    this.root.dataset.key = data.key;
  }

  foot() {
    const foot = make("p", "say", this.data.say && `${this.data.say} The best of each style, ${this.scale} screen pixels a millimetre.`);
    foot.setAttribute("role", "status");
    return foot;
  }

  rail({ style, tags }) {
    const box = make("section", "rail");
    if (style) box.append(make("h2", "", style));
    const row = make("ul", "row");
    row.append(...tags.map((tag) => this.cell(tag)));
    box.append(row);
    return box;
  }

  cell(tag) {
    const cell = make("li", "hung");
    cell.tag = tag;
    const picture = make("div", "picture");
    picture.style.width = `${GUESS_MM[0] * this.scale}px`;
    picture.style.height = `${GUESS_MM[1] * this.scale}px`;
    picture.append(make("span", "waiting", "making …"));
    cell.append(picture, make("b", "title", tag.f));
    const change = make("span", "change", " ");
    cell.append(change, make("span", "sold", tag.w));
    if (!this.data.plain) cell.append(this.acts(tag, cell));
    return cell;
  }

  acts(tag, cell) {
    const acts = make("span", "acts");
    const act = (kind, label, name, does) => {
      const button = make("button", `act ${kind}`, label);
      button.type = "button";
      button.setAttribute("aria-label", name);
      button.addEventListener("click", does);
      acts.append(button);
      return button;
    };
    act("make", "make it", `Make ${tag.f}`, () => this.go({ to: "make", face: tag.i }));
    cell.keep = act("keep", "keep", `Keep ${tag.f}`, () => this.note(this.kept, tag, "keep"));
    cell.pick = act("pick", "side by side", `${tag.f} side by side`, () => this.note(this.chosen, tag, "choose"));
    act("like", "like it", `More like ${tag.f}`, () => this.go({ to: "like", face: tag.i }));
    this.mark(cell);
    return acts;
  }

  note(set, tag, to) {
    const on = !set.has(tag.i);
    if (on) set.add(tag.i);
    else set.delete(tag.i);
    this.root.querySelectorAll(".hung").forEach((cell) => this.mark(cell));
    this.go({ to, face: tag.i, on });
  }

  mark(cell) {
    cell.keep?.setAttribute("aria-pressed", String(this.kept.has(cell.tag.i)));
    cell.pick?.setAttribute("aria-pressed", String(this.chosen.has(cell.tag.i)));
  }

  seen(entries) {
    for (const { target, isIntersecting } of entries) {
      if (isIntersecting && !target.asked) {
        target.asked = true;
        this.queue.push(target);
      }
    }
    this.next();
  }

  async next() {
    while (this.busy < AT_ONCE && this.queue.length) {
      const cell = this.queue.shift();
      this.busy += 1;
      this.ask(cell).finally(() => {
        this.busy -= 1;
        this.next();
      });
    }
    if (!this.busy && !this.queue.length) this.root.dataset.hung = this.data.key;
  }

  async ask(cell) {
    const query = cell.tag.query ?? `${this.data.query}&face=${cell.tag.i}`;
    const found =
      this.known.get(query) ??
      (await fetch(`${this.data.route}/hanging?${query}`)
        .then((answer) => answer.json())
        .catch(() => ({ trouble: "did not come; reload the page" })));
    this.known.set(query, found);
    if (!cell.isConnected) return;
    const picture = cell.querySelector(".picture");
    const change = cell.querySelector(".change");
    const trouble = found.trouble ?? found.error;
    if (trouble) {
      picture.replaceChildren(make("span", "waiting", "–"));
      change.textContent = trouble;
      change.classList.add("bad");
      return;
    }
    picture.replaceChildren(this.drawing(found, cell.tag));
    picture.style.width = picture.style.height = "";
    change.textContent = found.change ? `holds with: ${found.change}` : "holds as it is";
    if (this.data.plain) cell.querySelector(".sold").textContent = `${found.face}, ${found.grams} g`;
  }

  // The hole of the tag's ring is the origin; a key ring goes through it and over the rail.
  drawing({ layers, box }, tag) {
    const [x0, y0, x1, y1] = box;
    const left = Math.min(x0, -RING_MM - 1);
    const right = Math.max(x1, RING_MM + 1);
    const top = -2 * RING_MM - 0.5;
    const svg = draw("svg", {
      viewBox: `${left} ${top} ${right - left} ${y1 - top + 1}`,
      width: ((right - left) * this.scale).toFixed(1), height: ((y1 - top + 1) * this.scale).toFixed(1),
      role: "img", "aria-label": `${this.data.name || tag.f} in ${tag.f}, as it hangs`,
    });
    // The far half of the ring lies behind the tag, the near half in front of it.
    const ring = (sweep, kind) =>
      draw("path", {
        d: `M0 ${-2 * RING_MM + WIRE_MM} A${RING_MM - WIRE_MM} ${RING_MM - WIRE_MM} 0 0 ${sweep} 0 ${-WIRE_MM / 2 + 0.4}`,
        class: `wire ${kind}`, "stroke-width": WIRE_MM,
      });
    svg.append(ring(0, "far"));
    const body = draw("g", { class: "body" });
    for (const [colour, d] of layers) body.append(draw("path", { d, fill: colour, "fill-rule": "evenodd" }));
    svg.append(body, ring(1, "near"));
    return svg;
  }
}
