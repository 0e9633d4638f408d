import { element } from '../web/element.js'

export function render({ model }) {
  const box = element('div', 'gw gw-words'),
    said = element('p', 'fits')
  const helps = element('div'),
    turns = element('div'),
    list = element('ul')
  const head = element('h3', '', 'Where the hand goes over')
  said.setAttribute('aria-live', 'polite')
  turns.append(head, list)
  box.append(said, helps, turns)
  const set = () => {
    if (said.textContent !== model.fits) said.textContent = model.fits
    const items = model.helps.map(({ words }, index) => {
      const li = element('li', 'help'),
        text = element('span', '', words),
        button = element('button', 'gw-button', 'Try it')
      text.id = `gw-help-${index}`
      button.type = 'button'
      button.id = `gw-try-${index}`
      button.setAttribute('aria-labelledby', `${button.id} ${text.id}`)
      button.addEventListener('click', () => {
        model.tried = { index, count: (model.tried?.count ?? 0) + 1 }
      })
      li.append(text, button)
      return li
    })
    helps.replaceChildren()
    if (items.length) {
      const ul = element('ul')
      ul.append(...items)
      helps.append(element('h3', '', 'What would help, tried on this hand'), ul)
    }
    helps.hidden = !items.length
    list.replaceChildren(...model.turns.map(words => element('li', '', words)))
  }
  for (const p of ['fits', 'helps', 'turns']) model.on(p, set)
  set()
  return box
}
