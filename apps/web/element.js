// One element of the page: its class, its text, its attributes.
export function element(tag, cls = '', text = undefined, attributes = {}) {
  const node = document.createElement(tag)
  if (cls) node.className = cls
  if (text !== undefined) node.textContent = text
  for (const [key, value] of Object.entries(attributes)) node.setAttribute(key, value)
  return node
}
