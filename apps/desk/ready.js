const make = (tag, text = '', pairs = {}) => {
  const e = document.createElement(tag)
  if (text) e.textContent = text
  for (const k in pairs) e.setAttribute(k, pairs[k])
  return e
}

export function render({ model }) {
  const box = make('div', '', { class: 'gw gw-ready' }),
    table = make('table'),
    said = make('div', '', { 'aria-live': 'polite' })
  const how = make('details'),
    list = make('ul')
  how.append(make('summary', 'How known'), list)
  box.append(table, said, how)
  const set = () => {
    const head = make('tr'),
      top = make('thead'),
      body = make('tbody')
    head.append(make('td'), make('th', 'Before', { scope: 'col' }), make('th', 'After', { scope: 'col' }))
    top.append(head)
    for (const { words, before, after, quantity } of model.rows) {
      const tr = make('tr', '', { class: quantity })
      tr.append(make('th', words, { scope: 'row' }), make('td', before), make('td', after))
      body.append(tr)
    }
    table.replaceChildren(make('caption', 'This hand, before and after'), top, body)
    said.replaceChildren(...model.lasts.map(words => make('p', words)))
    list.replaceChildren(...model.known.map(words => make('li', words)))
  }
  for (const p of ['rows', 'lasts', 'known']) model.on(p, set)
  set()
  return box
}
