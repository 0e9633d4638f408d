export function render({ model }) {
  const p = document.createElement('p')
  p.className = 'gw gw-finding'
  const set = () => {
    p.textContent = model.text
  }
  model.on('text', set)
  set()
  return p
}
