const make = (tag, text = '', kind = '') => {
  const e = document.createElement(tag)
  if (text) e.textContent = text
  if (kind) e.className = kind
  return e
}

export function render({ model }) {
  const box = make('div', '', 'gw gw-words'),
    said = make('p', '', 'fits')
  const helps = make('div'),
    turns = make('div'),
    list = make('ul')
  const head = make('h3', 'Where the hand goes over')
  said.setAttribute('aria-live', 'polite')
  turns.append(head, list)
  box.append(said, helps, turns)
  const set = () => {
    if (said.textContent !== model.fits) said.textContent = model.fits
    const items = model.helps.map(({ words }, index) => {
      const li = make('li', '', 'help'),
        text = make('span', words),
        button = make('button', 'Try it', 'gw-button')
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
      const ul = make('ul')
      ul.append(...items)
      helps.append(make('h3', 'What would help, tried on this hand'), ul)
    }
    helps.hidden = !items.length
    list.replaceChildren(...model.turns.map(words => make('li', words)))
  }
  for (const p of ['fits', 'helps', 'turns']) model.on(p, set)
  set()
  return box
}
