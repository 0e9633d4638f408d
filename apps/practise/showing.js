// Things to show, each by one press.

import { element } from '../web/element.js'
export function render({ model }) {
  const box = element('div'),
    list = element('ul'),
    said = element('p')
  box.className = 'gw gw-showing'
  said.setAttribute('aria-live', 'polite')
  list.setAttribute('aria-label', 'Things to show')
  let count = 0
  const show = () => {
    model.items.forEach(([key, label, pressed], i) => {
      const b = list.children[i]?.firstChild ?? list.appendChild(element('li')).appendChild(element('button'))
      b.type = 'button'
      b.textContent = label
      b.setAttribute('aria-pressed', pressed)
      b.onclick = () => {
        model.asked = { key, n: ++count }
      }
    })
  }
  model.on('items', show)
  model.on('words', () => {
    said.textContent = model.words || 'One press sets what it needs; hand and current stay as they are.'
  })
  show()
  said.textContent = model.words || 'One press sets what it needs; hand and current stay as they are.'
  box.append(said, list)
  return box
}
