// Elements of the page. Text goes in as text, never as HTML.

export function make(tag, attributes = {}, ...children) {
  const node = document.createElement(tag);
  for (const [key, value] of Object.entries(attributes)) {
    if (key === 'text') node.textContent = value;
    else if (key === 'click') node.addEventListener('click', value);
    else node.setAttribute(key, value);
  }
  node.append(...children);
  return node;
}

// Only when it differs: a live region speaks at every change.
export function setText(node, text) {
  if (node.textContent !== text) node.textContent = text;
}
