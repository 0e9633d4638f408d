import { element } from '../web/element.js'

// 2.1 × 10^-5 is written with a raised number
const number = (cell, text) => {
  const [plain, raised] = text.split('^')
  cell.append(plain)
  if (raised) {
    const [power, ...unit] = raised.split('\u00a0')
    cell.append(element('sup', '', power), unit.length ? `\u00a0${unit.join('\u00a0')}` : '')
  }
  return cell
}
const SIGNS = {
  inside: '<path d="M3 9.5 7.5 14 15 4.5"/>',
  close: '<path d="M9 2 17 16H1Z"/><path d="M9 7v4.5M9 13.2v.4"/>',
}

export function render({ model }) {
  const view = { model }
  view.root = element('div', 'gwd')
  view.open = new Set()

  let due = 0
  const later = () => {
    due ||= requestAnimationFrame(() => {
      due = 0
      draw(view)
    })
  }
  view.model.on('figures', later)
  view.model.on('limits', later)
  draw(view)
  return view.root
}

function figures(view) {
  const { heads, groups } = view.model.figures
  const table = element('table', 'figures')
  table.append(element('caption', '', 'Dose in numbers'))
  const head = element('tr')
  head.append(element('th', '', 'Quantity', { scope: 'col' }), ...heads.map(h => element('th', '', h, { scope: 'col' })))
  const top = element('thead')
  top.append(head)
  table.append(top)
  for (const { title, rows } of groups) {
    const body = element('tbody'),
      line = element('tr')
    line.append(element('th', 'group', title, { scope: 'rowgroup', colspan: heads.length + 1 }))
    body.append(line)
    for (const [words, ...cells] of rows) {
      const tr = element('tr')
      tr.append(element('th', '', words, { scope: 'row' }), ...cells.map(c => number(element('td'), c)))
      body.append(tr)
    }
    table.append(body)
  }
  return table
}

function limits(view) {
  const table = element('table', 'limits')
  table.append(element('caption', '', 'Limits'))
  const head = element('tr'),
    top = element('thead'),
    body = element('tbody')
  const names = ['Quantity', 'Here', 'Limit', 'Stands', 'How known', 'Source, and what it does not cover']
  head.append(...names.map(n => element('th', '', n, { scope: 'col' })))
  top.append(head)
  for (const row of view.model.limits) {
    const tr = element('tr', row.kind)
    const stands = element('td', 'stands')
    stands.innerHTML =
      row.kind === 'over' ? '<i aria-hidden="true"></i>' : `<svg viewBox="0 0 18 18" aria-hidden="true">${SIGNS[row.kind]}</svg>`
    stands.append(element('b', '', row.stands))
    const more = element('td', 'more'),
      fold = element('details'),
      key = row.quantity
    fold.append(element('summary', '', 'Source'), element('p', '', row.source), element('p', '', row.text))
    if (row.not_covered) fold.append(element('p', '', `Does not cover: ${row.not_covered.replace(/\.$/, '')}.`))
    fold.open = view.open.has(key)
    fold.addEventListener('toggle', () => {
      fold.open ? view.open.add(key) : view.open.delete(key)
    })
    fold.firstChild.setAttribute('aria-label', `Source of the limit on ${key[0].toLowerCase()}${key.slice(1)}`)
    more.append(fold)
    const cells = [number(element('td'), row.value), number(element('td'), row.limit), stands, element('td', '', row.mark), more]
    cells.forEach((cell, n) => {
      cell.dataset.name = names[n + 1]
    })
    tr.append(element('th', '', row.quantity, { scope: 'row' }), ...cells)
    body.append(tr)
  }
  table.append(top, body)
  return table
}

function draw(view) {
  // the reader's place must not be lost: the summary that had the focus gets it back
  const at = [...view.root.querySelectorAll('summary')].indexOf(view.root.getRootNode().activeElement)
  view.root.replaceChildren(figures(view), limits(view))
  if (at >= 0) view.root.querySelectorAll('summary')[at]?.focus({ preventScroll: true })
}
