// Half an hour with one change at a time, a row each.

import { element } from '../web/element.js'
import { plain } from '../web/plain.js'

export function render({ model }) {
  const box = element('div', 'gw gw-changes')
  const heads = [
    ['name', 'Changed'],
    ['put_down', 'Put down'],
    ['effect', 'Effect'],
    ['dropped', 'Dropped'],
    ['waiting', 'Waiting'],
  ]
  const cell = (row, tag, text, left) => {
    const c = element(tag)
    c.textContent = text
    if (left) c.className = 'left'
    if (tag === 'th') c.scope = left && text !== 'Changed' ? 'row' : 'col'
    row.append(c)
  }
  const show = () => {
    const rows = plain(model.rows)
    box.replaceChildren()
    if (!rows.length) return
    const table = element('table')
    const top = table.createTHead().insertRow(),
      body = table.createTBody()
    for (const [key, word] of heads) cell(top, 'th', word, key === 'name')
    for (const r of rows) {
      const line = body.insertRow()
      for (const [key] of heads) cell(line, key === 'name' ? 'th' : 'td', r[key], key === 'name')
    }
    box.append(table)
  }
  model.on('rows', show)
  show()
  return box
}
