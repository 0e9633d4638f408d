// Words that a lesson explains: a tap says what one means; a switch shows plain words, the trade's own, or both at first use.

import { button, el, fill, kept, segments } from './dom.js'

const MODES = [
  ['plain', 'plain'],
  ['both', 'both'],
  ['trade', 'of the trade'],
]
let meanings = {},
  mode = kept.get('gw-words') ?? 'both'
if (!MODES.some(([key]) => key === mode)) mode = 'both'
const box = el('dialog', { class: 'word-box', 'aria-labelledby': 'word-head' })

export const explain = glossary => {
  meanings = glossary ?? {}
  for (const node of document.querySelectorAll('.tw')) dress(node)
}

export const wordSwitch = () =>
  segments('words', 'Words', MODES, mode, value => {
    mode = value
    kept.set('gw-words', mode)
    for (const node of document.querySelectorAll('.tw')) dress(node)
  })

function dress(node) {
  const said = node.dataset.said ?? (node.dataset.said = node.textContent),
    trade = node.dataset.trade
  const words =
    !trade || mode === 'plain' || (mode === 'both' && node.dataset.first === undefined)
      ? said
      : mode === 'trade'
        ? trade
        : `${said} (${trade})`
  if (node.textContent !== words) node.textContent = words
  if (!meanings[node.dataset.term] || node.closest('button, label, summary, a')) return
  if (node.getAttribute('role') === 'button') return
  node.setAttribute('role', 'button')
  node.tabIndex = 0
}

function tell(node) {
  const { term, trade, said } = node.dataset
  if (!box.isConnected) {
    document.body.append(box)
    box.addEventListener('click', event => {
      if (event.target === box) box.close()
    })
  }
  fill(
    box,
    el('h2', { class: 'big', id: 'word-head' }, said),
    trade ? el('p', {}, 'In the trade: ', el('b', {}, trade)) : null,
    el('p', {}, term.toLowerCase() === said.toLowerCase() ? null : el('b', {}, `${term}: `), meanings[term]),
    el(
      'div',
      { class: 'row' },
      button('Close', () => box.close(), { class: 'btn strong' }),
    ),
  )
  box.showModal()
}

const of = event => event.target.closest?.('.tw[role=button]')
document.addEventListener('click', event => {
  const node = of(event)
  if (node) tell(node)
})
document.addEventListener('keydown', event => {
  const node = of(event)
  if (node && (event.key === 'Enter' || event.key === ' ')) {
    event.preventDefault()
    tell(node)
  }
})
new MutationObserver(changes => {
  for (const change of changes)
    for (const node of change.addedNodes) {
      if (node.nodeType !== 1) continue
      if (node.matches('.tw')) dress(node)
      for (const word of node.querySelectorAll('.tw')) dress(word)
    }
}).observe(document.body, { childList: true, subtree: true })
