// What found no room on a plot, as sentences below it; one with a word to explain is a button.

import { element } from '../web/element.js'

export function render({ model }) {
  const box = element('div', 'box'),
    said = element('p', 'said'),
    note = element('p', 'note')
  note.setAttribute('role', 'status')
  note.hidden = true
  box.append(said, note)
  const part = ({ text, means }) => {
    if (!means) return element('span', '', text)
    const button = element('button', '', text)
    button.type = 'button'
    button.addEventListener('click', () => {
      note.hidden = !note.hidden
      note.textContent = means
    })
    return button
  }
  const set = () => {
    const words = model.said.map(({ text }) => text).join(' ')
    if (said.textContent.trim() === words) return
    note.hidden = true
    said.replaceChildren(...model.said.flatMap(item => [part(item), ' ']))
  }
  box.addEventListener('keydown', event => {
    if (event.key === 'Escape') note.hidden = true
  })
  const free = () => {
    box.style.setProperty('--rows', model.rows)
    box.style.setProperty('--letter', `${model.letter}px`)
  }
  model.on('said', set)
  model.on('rows', free)
  model.on('letter', free)
  set()
  free()
  return box
}
