import { element } from '../web/element.js'
export function render({ model }) {
  const p = element('p', 'gw gw-finding')
  const set = () => {
    p.textContent = model.text
  }
  model.on('text', set)
  set()
  return p
}
