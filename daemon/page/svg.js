// Elements of pictures.

const NS = 'http://www.w3.org/2000/svg';

export function el(name, attributes, ...children) {
  const node = document.createElementNS(NS, name);
  for (const [key, value] of Object.entries(attributes)) node.setAttribute(key, value);
  node.append(...children);
  return node;
}
export const r = value => Math.round(value * 10) / 10;
