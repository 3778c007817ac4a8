// A tag in three dimensions, drawn with WebGL from the triangles that are written to the files. Drag or use the arrow
// keys to turn it, + and - or the wheel with Ctrl to come nearer. Where there is no WebGL the angled drawing stands.
//
// data: { label, size [mm], bodies: [[#rrggbb, points float32 base64, triangles uint32 base64]], flat (svg) }

const VERTEX = `
attribute vec3 place; attribute vec3 normal; attribute vec3 colour;
uniform mat3 turn; uniform vec3 middle; uniform vec2 zoom;
varying vec3 shade;
void main() {
  vec3 p = turn * (place - middle);
  vec3 n = turn * normal;
  float light = 0.45 + 0.4 * max(0.0, dot(n, normalize(vec3(-0.35, 0.5, 0.8)))) + 0.2 * max(0.0, n.z);
  shade = colour * min(light, 1.0);
  gl_Position = vec4(p.xy * zoom, -p.z * 0.004, 1.0);
}`;
const FRAGMENT = `precision mediump float; varying vec3 shade; void main() { gl_FragColor = vec4(shade, 1.0); }`;
const STEP = 0.12; // radians a key

export default function (component) {
  const root = component.parentElement.querySelector(".turn");
  const data = component.data;
  const key = JSON.stringify(data.bodies);
  if (root.shown === key) return; // the same tag: it stays as it was turned
  root.shown = key;
  root.view?.end();
  const canvas = document.createElement("canvas");
  canvas.tabIndex = 0;
  canvas.setAttribute("role", "img");
  canvas.setAttribute("aria-label", `${data.label} in three dimensions; arrow keys turn it`);
  const note = document.createElement("p");
  note.textContent = "Drag it, or use the arrow keys, to turn it.";
  const gl = canvas.getContext("webgl", { antialias: true, alpha: true });
  if (!gl) {
    const flat = new DOMParser().parseFromString(data.flat, "image/svg+xml").documentElement;
    flat.setAttribute("role", "img");
    flat.setAttribute("aria-label", `${data.label} at an angle`);
    const paper = document.createElement("div");
    paper.className = "paper";
    paper.append(flat);
    root.replaceChildren(paper);
    root.dataset.drawn = "flat";
    return;
  }
  root.replaceChildren(canvas, note);
  root.view = new Turn(canvas, gl, data, root.view?.pose);
  root.dataset.drawn = "solid";
}

function bytes(text) {
  const raw = atob(text);
  const out = new Uint8Array(raw.length);
  for (let k = 0; k < raw.length; k++) out[k] = raw.charCodeAt(k);
  return out.buffer;
}

// Every triangle gets its own corners, so that edges stay sharp.
function corners(bodies) {
  const places = [];
  const normals = [];
  const colours = [];
  for (const [colour, pointText, triangleText] of bodies) {
    const p = new Float32Array(bytes(pointText));
    const t = new Uint32Array(bytes(triangleText));
    const rgb = [1, 3, 5].map((k) => parseInt(colour.slice(k, k + 2), 16) / 255);
    for (let k = 0; k < t.length; k += 3) {
      const [a, b, c] = [0, 1, 2].map((j) => [0, 1, 2].map((d) => p[3 * t[k + j] + d]));
      const u = b.map((v, d) => v - a[d]);
      const w = c.map((v, d) => v - a[d]);
      const n = [u[1] * w[2] - u[2] * w[1], u[2] * w[0] - u[0] * w[2], u[0] * w[1] - u[1] * w[0]];
      const long = Math.hypot(...n) || 1;
      for (const corner of [a, b, c]) {
        places.push(...corner);
        normals.push(n[0] / long, n[1] / long, n[2] / long);
        colours.push(...rgb);
      }
    }
  }
  return { places, normals, colours };
}

class Turn {
  constructor(canvas, gl, data, pose) {
    this.canvas = canvas;
    this.gl = gl;
    this.size = data.size;
    this.pose = pose ?? { side: -0.35, over: -0.75, near: 1 };
    const program = gl.createProgram();
    for (const [kind, text] of [[gl.VERTEX_SHADER, VERTEX], [gl.FRAGMENT_SHADER, FRAGMENT]]) {
      const shader = gl.createShader(kind);
      gl.shaderSource(shader, text);
      gl.compileShader(shader);
      gl.attachShader(program, shader);
    }
    gl.linkProgram(program);
    gl.useProgram(program);
    this.program = program;
    const { places, normals, colours } = corners(data.bodies);
    this.count = places.length / 3;
    for (const [name, values] of [["place", places], ["normal", normals], ["colour", colours]]) {
      gl.bindBuffer(gl.ARRAY_BUFFER, gl.createBuffer());
      gl.bufferData(gl.ARRAY_BUFFER, new Float32Array(values), gl.STATIC_DRAW);
      const at = gl.getAttribLocation(program, name);
      gl.enableVertexAttribArray(at);
      gl.vertexAttribPointer(at, 3, gl.FLOAT, false, 0, 0);
    }
    gl.enable(gl.DEPTH_TEST);
    this.watch = new ResizeObserver(() => this.draw());
    this.watch.observe(canvas);
    this.listen();
  }

  listen() {
    const { canvas } = this;
    canvas.addEventListener("pointerdown", (e) => canvas.setPointerCapture(e.pointerId));
    canvas.addEventListener("pointermove", (e) => {
      if (canvas.hasPointerCapture(e.pointerId)) this.move(e.movementX * 0.01, e.movementY * 0.01);
    });
    canvas.addEventListener("wheel", (e) => {
      if (!e.ctrlKey) return;
      e.preventDefault();
      this.zoom(e.deltaY < 0 ? 1.1 : 1 / 1.1);
    }, { passive: false });
    canvas.addEventListener("keydown", (e) => {
      const moves = { ArrowLeft: [-STEP, 0], ArrowRight: [STEP, 0], ArrowUp: [0, -STEP], ArrowDown: [0, STEP] };
      if (e.key in moves) this.move(...moves[e.key]);
      else if (e.key === "+") this.zoom(1.15);
      else if (e.key === "-") this.zoom(1 / 1.15);
      else return;
      e.preventDefault();
    });
  }

  move(side, over) {
    this.pose.side += side;
    this.pose.over = Math.max(-1.57, Math.min(1.57, this.pose.over + over));
    this.draw();
  }

  zoom(factor) {
    this.pose.near = Math.max(0.5, Math.min(4, this.pose.near * factor));
    this.draw();
  }

  draw() {
    const { canvas, gl, program, pose } = this;
    const dense = window.devicePixelRatio || 1;
    canvas.width = Math.max(1, canvas.clientWidth * dense);
    canvas.height = Math.max(1, canvas.clientHeight * dense);
    gl.viewport(0, 0, canvas.width, canvas.height);
    const [sa, ca, sb, cb] = [Math.sin(pose.side), Math.cos(pose.side), Math.sin(pose.over), Math.cos(pose.over)];
    // Turned about the upright, then tipped towards the eye; column by column.
    gl.uniformMatrix3fv(gl.getUniformLocation(program, "turn"), false, [ca, sa * cb, sa * sb, -sa, ca * cb, ca * sb, 0, -sb, cb]);
    gl.uniform3f(gl.getUniformLocation(program, "middle"), ...this.size.map((v) => v / 2));
    const long = Math.hypot(this.size[0], this.size[1]) * 1.04;
    const zoom = (Math.min(canvas.width, canvas.height * 1.9) / long) * 2 * pose.near;
    gl.uniform2f(gl.getUniformLocation(program, "zoom"), zoom / canvas.width, zoom / canvas.height);
    gl.clearColor(0, 0, 0, 0);
    gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
    gl.drawArrays(gl.TRIANGLES, 0, this.count);
  }

  end() {
    this.watch.disconnect();
    this.gl.getExtension("WEBGL_lose_context")?.loseContext();
  }
}
