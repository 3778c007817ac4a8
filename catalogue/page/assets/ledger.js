// The ledger: a virtual list of ranked faces, one ruled line a face, and the detail of a line measured in full.
//
// data: { key, query, total, rows (the first lines), chosen, kept [face ids], colours, terms, offset (mm), route }
//   key      changes when name, size, process, filters or look do; the same key keeps place and detail
//   query    what the routes need to answer for the same listing
// Lines further down are fetched from `${route}/rows`, the detail of a line from `${route}/line`. When the list rests,
// the lines in view are measured there one by one: the prediction gives way to the measurement, weak spots get their
// rings, and the order stays. All pictures of a list have one scale; one that does not fit says so.
// Asking for a view, choosing or keeping a line sets the trigger `go`: { to, face, on }.
// All texts are set as text; only drawings of our own server are parsed, and DOMParser runs no scripts.

const WINDOW = 50; // lines kept in the document, at least
const CHUNK = 50; // lines fetched at once
const REST_MS = 900; // without a change before lines in view are measured

export default function (component) {
  const root = component.parentElement.querySelector(".ledger");
  if (!root.list) root.list = new Ledger(root);
  root.list.update(component.data, component.setTriggerValue);
}

function figure(value, digits = 2) {
  return value === null || value === undefined ? "–" : value.toFixed(digits);
}

class Ledger {
  constructor(root) {
    this.root = root;
    this.rows = new Map();
    this.nodes = new Map();
    this.active = 0;
    this.open = null;
    this.fetching = new Set();
    this.generation = 0;

    this.head = make("div", "head");
    this.scroller = make("div", "scroll");
    this.space = make("div", "space");
    this.space.setAttribute("role", "list");
    this.space.setAttribute("aria-label", "Faces, best first");
    this.scroller.append(this.space);
    this.foot = make("div", "foot");
    this.say = make("span", "say");
    this.say.setAttribute("role", "status");
    this.say.setAttribute("aria-live", "polite");
    this.foot.append(
      this.say,
      make("span", "keys", "Arrow keys move from line to line, Enter opens one, S sets it side by side, K keeps it."),
    );
    root.replaceChildren(this.head, this.scroller, this.foot);

    this.scroller.addEventListener("scroll", () => this.later(), { passive: true });
    this.space.addEventListener("keydown", (e) => this.key(e));
    new ResizeObserver(() => this.measure()).observe(root);
    this.measure();
  }

  measure() {
    const narrow = this.root.clientWidth < 700;
    this.root.classList.toggle("middle", !narrow && this.root.clientWidth < 1000);
    if (this.narrow === narrow && this.pitch) return;
    this.narrow = narrow;
    this.root.classList.toggle("narrow", narrow);
    this.pitch = narrow ? 180 : 70;
    this.sheet = narrow ? 800 : 520;
    this.nodes.forEach((n) => n.remove());
    this.nodes.clear();
    if (this.data) this.paint();
  }

  update(data, setTrigger) {
    this.go = (value) => setTrigger("go", { ...value, at: Date.now() });
    const fresh = !this.data || this.data.key !== data.key;
    this.data = data;
    this.chosen = new Set(data.chosen);
    this.kept = new Set(data.kept);
    for (const [layer, colour] of Object.entries(data.colours)) this.root.style.setProperty(`--${layer}`, colour);
    if (!this.head.childElementCount) this.heads(data.terms);
    if (fresh) {
      this.generation += 1;
      this.fetching.clear();
      this.rows.clear();
      this.open = null;
      this.active = 0;
      this.nodes.forEach((n) => n.remove());
      this.nodes.clear();
      this.scroller.scrollTop = 0;
    }
    data.rows.forEach((r) => this.rows.set(r.n - 1, r));
    if (fresh) this.scale = this.commonScale(data.rows);
    this.say.textContent = data.say;
    if (fresh && data.open) {
      const at = data.rows.findIndex((r) => r.i === data.open);
      if (at >= 0) this.toggle(at);
    }
    this.paint();
    if (!fresh) this.nodes.forEach((node, k) => this.mark(node, this.rows.get(k)));
    this.root.dataset.key = data.key;
  }

  // Titles of the columns; a question mark opens one sentence and a drawing.
  heads(terms) {
    const columns = [
      ["rank", ""], ["pic", "the tag"], ["face", "letters"], ["hold", "hold", "hold"], ["num", "outline needed", "join"],
      ["num", "neck", "neck"], ["num", "thinnest stroke", "stroke"], ["num", "smallest hole", "counter"],
      ["sell", "may it be sold"], ["acts", ""],
    ];
    for (const [kind, text, term] of columns) {
      const cell = make("span", kind, text);
      if (term) {
        const [name, sentence, drawing] = terms[term];
        const button = make("button", "term", "?");
        button.type = "button";
        button.setAttribute("aria-label", `What is ${name}?`);
        const note = make("span", "term-note");
        note.popover = "auto";
        note.innerHTML = drawing; // ours, without words of others
        note.append(make("b", "", name), `: ${sentence}`);
        button.popoverTargetElement = note;
        cell.append(button, note);
      }
      this.head.append(cell);
    }
  }

  // Pixels a millimetre at which nine of ten of the first pictures fit their cell.
  commonScale(rows) {
    const [wide, tall] = this.room();
    const fits = rows
      .filter((r) => r.d && r.u)
      .map((r) => Math.min(wide / this.widthOf(r), tall / this.heightOf(r)))
      .sort((a, b) => a - b);
    return fits.length ? fits[Math.floor(fits.length / 10)] : 2;
  }

  fits(r) {
    const [wide, tall] = this.room();
    return this.widthOf(r) * this.scale <= wide + 1 && this.heightOf(r) * this.scale <= tall + 1;
  }

  room() {
    return this.narrow ? [this.root.clientWidth * 0.55, 50] : [Math.max(150, this.root.clientWidth * 0.2), 56];
  }

  widthOf(r) {
    return (r.b[2] - r.b[0]) * r.u + 2 * this.data.offset + 0.4;
  }

  heightOf(r) {
    return (r.b[3] - r.b[1]) * r.u + 2 * this.data.offset + 0.4;
  }

  top(k) {
    return k * this.pitch + (this.open !== null && k > this.open ? this.sheet : 0);
  }

  at(y) {
    if (this.open !== null) {
      const below = (this.open + 1) * this.pitch;
      if (y > below) y = Math.max(below, y - this.sheet);
    }
    return Math.floor(y / this.pitch);
  }

  later() {
    if (this.waiting) return;
    this.waiting = requestAnimationFrame(() => {
      this.waiting = 0;
      this.paint();
    });
  }

  paint() {
    const total = this.data.total;
    this.space.style.height = `${total * this.pitch + (this.open !== null ? this.sheet : 0)}px`;
    const seen = this.at(this.scroller.scrollTop);
    const room = Math.ceil(this.scroller.clientHeight / this.pitch);
    const count = Math.max(WINDOW, room + 8);
    const from = Math.max(0, Math.min(seen - Math.floor((count - room) / 2), total - count));
    const to = Math.min(total, from + count);
    this.nodes.forEach((node, k) => {
      const kept = (k >= from && k < to) || k === this.active;
      if (!kept || node.face !== (this.rows.get(k)?.i ?? null)) {
        node.remove();
        this.nodes.delete(k);
      }
    });
    let missing = -1;
    let last = -1;
    const order = [];
    for (let k = from; k < to; k++) {
      let node = this.nodes.get(k);
      const row = this.rows.get(k);
      if (!row) {
        if (missing < 0) missing = k;
        last = k;
      }
      if (!node) {
        node = row ? this.line(k, row) : this.blank(k);
        this.nodes.set(k, node);
        order.push(node);
      }
      node.style.top = `${this.top(k)}px`;
    }
    if (order.length) {
      // In the document lines stand in their order, as a reader of the list expects.
      const all = [...this.nodes.entries()].sort((a, b) => a[0] - b[0]).map((e) => e[1]);
      const held = this.root.getRootNode().activeElement;
      if (this.space.childElementCount === 0) this.space.append(...all);
      else {
        let before = null;
        for (const node of all.reverse()) {
          if (node.nextSibling !== before || node.parentNode !== this.space) this.space.insertBefore(node, before);
          before = node;
        }
        if (held && held.isConnected && this.root.getRootNode().activeElement !== held) held.focus({ preventScroll: true });
      }
    }
    let drawn = 0;
    for (let k = from; k < to; k++) if (this.rows.has(k)) drawn += 1;
    this.root.dataset.from = from;
    this.root.dataset.painted = drawn;
    if (missing >= 0) this.fetch(missing, last + 1);
    clearTimeout(this.resting);
    this.resting = setTimeout(() => this.measureSeen(), REST_MS);
  }

  async measureSeen() {
    const generation = this.generation;
    const mine = (this.measuring = {});
    const from = this.at(this.scroller.scrollTop);
    const to = Math.min(this.data.total, this.at(this.scroller.scrollTop + this.scroller.clientHeight) + 1);
    for (let k = from; k < to; k++) {
      const r = this.rows.get(k);
      if (!r || r.v || r.tried || this.open === k) continue;
      r.tried = true;
      const found = await fetch(`${this.data.route}/line?${this.data.query}&face=${r.i}&brief=1`)
        .then((answer) => answer.json())
        .catch(() => ({}));
      if (generation !== this.generation || this.measuring !== mine || !this.root.isConnected) return;
      if (found.row) {
        Object.assign(r, found.row);
        this.measured(k, r);
      }
    }
    this.root.dataset.measured = this.data.key;
  }

  async fetch(from, to) {
    const start = Math.floor(from / CHUNK) * CHUNK;
    const end = Math.min(this.data.total, Math.ceil(to / CHUNK) * CHUNK);
    const tag = `${start}-${end}`;
    if (this.fetching.has(tag)) return;
    this.fetching.add(tag);
    const generation = this.generation;
    try {
      const answer = await fetch(`${this.data.route}/rows?${this.data.query}&from=${start}&to=${end}`);
      const found = await answer.json();
      if (generation !== this.generation) return;
      if (found.error) throw new Error(found.error);
      found.rows.forEach((r) => this.rows.set(r.n - 1, r));
      this.later();
    } catch (error) {
      if (generation === this.generation) this.say.textContent = `These lines did not come (${error.message}); scroll again.`;
    } finally {
      this.fetching.delete(tag);
    }
  }

  blank(k) {
    const node = make("div", "line blank", "");
    node.face = null;
    node.setAttribute("role", "listitem");
    node.setAttribute("aria-setsize", this.data.total);
    node.setAttribute("aria-posinset", k + 1);
    return node;
  }

  line(k, r) {
    const node = make("div", "line");
    node.face = r.i;
    node.at = k;
    node.dataset.face = r.i;
    node.setAttribute("role", "listitem");
    node.setAttribute("aria-setsize", this.data.total);
    node.setAttribute("aria-posinset", k + 1);

    const rank = make("span", "rank", String(r.n));
    const pic = make("span", "pic");
    pic.append(this.picture(r));
    if (r.d && r.u && !this.fits(r)) pic.append(make("i", "fitted", "fitted"));

    const face = make("span", "face");
    const button = make("button", "open");
    button.type = "button";
    button.tabIndex = k === this.active ? 0 : -1;
    button.append(make("b", "", r.f), document.createTextNode(` ${r.s}`));
    button.setAttribute("aria-expanded", String(this.open === k));
    button.setAttribute("aria-label", this.words(r));
    button.addEventListener("click", () => this.toggle(k));
    button.addEventListener("focus", () => this.take(k));
    face.append(button, make("span", "kind", this.kind(r)));

    const hold = make("span", "hold");
    const known = r.h !== null;
    const gauge = make("span", "gauge");
    gauge.style.setProperty("--share", known ? r.h / 100 : 0);
    gauge.setAttribute("aria-hidden", "true");
    hold.append(make("b", "", known ? String(r.h) : "–"), gauge);
    const state = !known ? "not measured yet" : r.k ? "holds" : r.p > 1 ? `${r.p} pieces` : "too weak";
    hold.append(make("span", known && !r.k ? "word bad" : "word", state));
    if (known && !r.v) hold.append(make("span", "guess", r.q ? "rough guess" : "predicted"));

    node.append(rank, pic, face, hold);
    for (const [label, value] of [["outline", r.j], ["neck", r.c], ["stroke", r.t], ["hole", r.o]]) {
      const cell = make("span", "num");
      cell.append(make("i", "", label), document.createTextNode(figure(value)));
      node.append(cell);
    }
    const sell = make("span", "sell");
    const sign = make("span", "sign", r.m);
    sign.setAttribute("aria-hidden", "true");
    sell.append(sign, document.createTextNode(r.w));
    const acts = make("span", "acts");
    node.acts = [
      this.act(k, "make", "make it", () => this.go({ to: "make", face: r.i }), `Make it in ${r.f} ${r.s}`),
      this.act(k, "pick", "side by side", () => this.choose(r, !this.chosen.has(r.i)), `${r.f} ${r.s} side by side`),
      this.act(k, "keep", "keep", () => this.keep(r, !this.kept.has(r.i)), `Keep ${r.f} ${r.s}`),
      this.act(k, "like", "like it", () => this.go({ to: "like", face: r.i }), `More like ${r.f} ${r.s}`),
    ];
    acts.append(...node.acts);
    node.append(sell, acts);
    node.button = button;
    node.addEventListener("click", (e) => {
      if (!e.target.closest("button, label, input, a, .unfolded")) this.toggle(k);
    });
    this.mark(node, r);
    if (this.open === k) node.append(this.unfolded(k, r));
    return node;
  }

  act(k, kind, label, does, name) {
    const button = make("button", `act ${kind}`, label);
    button.type = "button";
    button.tabIndex = k === this.active ? 0 : -1;
    button.setAttribute("aria-label", name);
    if (kind === "pick" || kind === "keep") button.setAttribute("aria-pressed", "false");
    button.addEventListener("click", does);
    return button;
  }

  mark(node, r) {
    if (!r || !node.acts) return;
    node.acts[1].setAttribute("aria-pressed", String(this.chosen.has(r.i)));
    node.acts[2].setAttribute("aria-pressed", String(this.kept.has(r.i)));
    node.classList.toggle("chosen", this.chosen.has(r.i));
  }

  // The style says whether letters are joined, or it is said as well.
  kind(r) {
    const letters = `${r.l} letters`;
    if (!r.g) return letters;
    return r.l === "joined" && !r.g.includes("joined") ? `${letters}, ${r.g}` : r.g;
  }

  words(r) {
    const hold = r.h === null ? "hold not worked out" : `hold ${r.h} of 100, ${r.k ? "holds" : "does not hold"}, ${r.v ? "measured" : "predicted"}`;
    return (
      `${r.n}. ${r.f} ${r.s}: ${hold}, outline needed ${figure(r.j)}, neck ${figure(r.c)}, thinnest stroke ${figure(r.t)},` +
      ` smallest hole ${figure(r.o)} millimetres, ${r.w}. Open it.`
    );
  }

  // One outline for all three layers: a wide stroke is the base, a stroke half as wide the middle, and the fill painted
  // over that stroke is the top, the letters themselves.
  picture(r) {
    const svg = draw("svg", { "aria-hidden": "true", focusable: "false" });
    if (!r.d || !r.u) {
      const text = draw("text", { y: 14, class: "gone" });
      text.textContent = "no picture: the font is gone";
      svg.append(text);
      return svg;
    }
    const grown = this.data.offset / r.u;
    const [x0, y0, x1, y1] = r.b;
    const pad = grown + 0.2 / r.u;
    const wide = this.widthOf(r) * this.scale;
    const tall = this.heightOf(r) * this.scale;
    svg.style.setProperty("--wide", `${wide.toFixed(1)}px`);
    svg.style.setProperty("--tall", `${tall.toFixed(1)}px`);
    svg.setAttribute("viewBox", [x0 - pad, y0 - pad, x1 - x0 + 2 * pad, y1 - y0 + 2 * pad].map((v) => Math.round(v)).join(" "));
    svg.setAttribute("preserveAspectRatio", "xMinYMid meet");
    for (const [kind, width] of [["edge", 2 * grown + 0.3 / r.u], ["base", 2 * grown], ["top", grown]]) {
      svg.append(draw("path", { d: r.d, class: kind, "stroke-width": width.toFixed(1) }));
    }
    for (const [x, y, size] of r.x ?? []) {
      svg.append(
        draw("circle", {
          class: "spot", cx: Math.round(x / r.u), cy: Math.round(-y / r.u),
          r: Math.round(Math.max(size / 2 + 0.2, 0.9) / r.u), "stroke-width": (0.4 / r.u).toFixed(1),
        }),
      );
    }
    return svg;
  }

  choose(r, on) {
    this.note(this.chosen, r, on, "choose");
  }

  keep(r, on) {
    this.note(this.kept, r, on, "keep");
  }

  note(set, r, on, to) {
    if (on) set.add(r.i);
    else set.delete(r.i);
    this.nodes.forEach((node, k) => this.mark(node, this.rows.get(k)));
    this.go({ to, face: r.i, on });
  }

  take(k) {
    if (k === this.active) return;
    const old = this.nodes.get(this.active);
    if (old?.button) for (const b of [old.button, ...old.acts]) b.tabIndex = -1;
    this.active = k;
    const node = this.nodes.get(k);
    if (node?.button) for (const b of [node.button, ...node.acts]) b.tabIndex = 0;
  }

  key(e) {
    const line = e.target.closest(".line");
    if (!line || e.ctrlKey || e.metaKey || e.altKey) return;
    const inSheet = e.target.closest(".unfolded");
    const page = Math.max(1, Math.floor(this.scroller.clientHeight / this.pitch) - 1);
    const moves = { ArrowDown: 1, ArrowUp: -1, PageDown: page, PageUp: -page, Home: -1e9, End: 1e9 };
    if (e.key in moves && !inSheet) {
      e.preventDefault();
      this.walk(Math.max(0, Math.min(this.data.total - 1, this.active + moves[e.key])));
    } else if (e.key === "Escape" && this.open !== null) {
      e.preventDefault();
      this.toggle(this.open);
    } else if ((e.key === "s" || e.key === "S") && !inSheet) {
      const r = this.rows.get(line.at);
      if (r) this.choose(r, !this.chosen.has(r.i));
    } else if ((e.key === "k" || e.key === "K") && !inSheet) {
      const r = this.rows.get(line.at);
      if (r) this.keep(r, !this.kept.has(r.i));
    }
  }

  async walk(k) {
    const y = this.top(k);
    const box = this.scroller;
    if (y < box.scrollTop) box.scrollTop = y;
    else if (y + this.pitch > box.scrollTop + box.clientHeight) box.scrollTop = y + this.pitch - box.clientHeight;
    this.paint();
    for (let tries = 0; tries < 40 && !this.nodes.get(k)?.button; tries++) await new Promise((done) => setTimeout(done, 50));
    this.nodes.get(k)?.button?.focus({ preventScroll: true });
  }

  toggle(k) {
    const before = this.open;
    if (before !== null) {
      const node = this.nodes.get(before);
      node?.querySelector(".unfolded")?.remove();
      node?.classList.remove("is-open");
      node?.button?.setAttribute("aria-expanded", "false");
    }
    this.open = before === k ? null : k;
    if (this.open !== null) {
      const node = this.nodes.get(k);
      const r = this.rows.get(k);
      if (node?.button && r) {
        node.button.setAttribute("aria-expanded", "true");
        node.append(this.unfolded(k, r));
      }
    }
    this.paint();
    if (this.open !== null) {
      const low = this.top(k) + this.pitch + this.sheet;
      const box = this.scroller;
      if (low > box.scrollTop + box.clientHeight) box.scrollTop = Math.min(this.top(k), low - box.clientHeight);
      if (this.top(k) < box.scrollTop) box.scrollTop = this.top(k);
    }
  }

  unfolded(k, r) {
    this.nodes.get(k)?.classList.add("is-open");
    const sheet = make("div", "unfolded sheet");
    sheet.style.height = `${this.sheet - 1}px`;
    sheet.setAttribute("role", "region");
    sheet.setAttribute("aria-label", `${r.f} ${r.s} measured`);
    sheet.append(make("p", "note", "Measuring …"));
    const generation = this.generation;
    fetch(`${this.data.route}/line?${this.data.query}&face=${r.i}`)
      .then((answer) => answer.json())
      .then((found) => {
        if (generation !== this.generation) return;
        const parsed = new DOMParser().parseFromString(found.markup, "text/html");
        sheet.replaceChildren(this.doors(r), ...parsed.body.childNodes); // the doors first: the rest may be longer than its room
        this.root.dataset.opened = r.i;
        if (found.row) {
          Object.assign(r, found.row);
          this.measured(k, r);
        }
      })
      .catch(() => sheet.replaceChildren(make("p", "bad", "The measurement did not come; close the line and open it again.")));
    return sheet;
  }

  // The line takes over what was measured, its place in the ranking stays.
  measured(k, r) {
    const node = this.nodes.get(k);
    if (!node) return;
    const fresh = this.line(k, r);
    for (const kind of ["pic", "hold", "num"]) {
      const olds = node.querySelectorAll(`:scope > .${kind}`);
      fresh.querySelectorAll(`:scope > .${kind}`).forEach((n, at) => olds[at]?.replaceWith(n));
    }
    node.button.setAttribute("aria-label", this.words(r));
  }

  doors(r) {
    const doors = make("p", "doors");
    for (const [to, label] of [["make", "Make this tag"], ["licence", "Read its licence"]]) {
      const door = make("button", "door", label);
      door.type = "button";
      door.addEventListener("click", () => this.go({ to, face: r.i }));
      doors.append(door);
    }
    return doors;
  }
}
