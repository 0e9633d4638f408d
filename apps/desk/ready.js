import { element } from '../web/element.js'

export function render({ model }) {
  const box = element('div', 'gw gw-ready'),
    table = element('table'),
    said = element('div', '', undefined, { 'aria-live': 'polite' })
  const how = element('details'),
    list = element('ul')
  how.append(element('summary', '', 'How known'), list)
  box.append(table, said, how)
  const set = () => {
    const head = element('tr'),
      top = element('thead'),
      body = element('tbody')
    head.append(element('td'), element('th', '', 'Before', { scope: 'col' }), element('th', '', 'After', { scope: 'col' }))
    top.append(head)
    for (const { words, before, after, quantity } of model.rows) {
      const tr = element('tr', quantity)
      tr.append(element('th', '', words, { scope: 'row' }), element('td', '', before), element('td', '', after))
      body.append(tr)
    }
    table.replaceChildren(element('caption', '', 'This hand, before and after'), top, body)
    said.replaceChildren(...model.lasts.map(words => element('p', '', words)))
    list.replaceChildren(...model.known.map(words => element('li', '', words)))
  }
  for (const p of ['rows', 'lasts', 'known']) model.on(p, set)
  set()
  return box
}
