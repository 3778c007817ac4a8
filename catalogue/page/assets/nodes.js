// Nodes for the parts that draw themselves: the server puts this in front of their scripts. All texts are set as text.

const NS = "http://www.w3.org/2000/svg";

function make(name, kind, text) {
  const node = document.createElement(name);
  if (kind) node.className = kind;
  if (text !== undefined) node.textContent = text;
  return node;
}

function draw(name, attributes) {
  const node = document.createElementNS(NS, name);
  for (const [key, value] of Object.entries(attributes)) node.setAttribute(key, value);
  return node;
}

