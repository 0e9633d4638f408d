import { element } from '../web/element.js'
export function render({ model }) {
  const list = element('ol', 'gw gw-thread')
  // What a word means is said under the chain; the same word again, or Escape, and it goes.
  const box = element('div'),
    note = element('p', 'gw gw-explain')
  note.setAttribute('role', 'status')
  note.hidden = true
  const term = (text, act) => {
    const b = element('button')
    b.type = 'button'
    b.textContent = text
    b.addEventListener('click', act)
    return b
  }
  list.said = text => {
    note.hidden = !note.hidden && note.textContent === text
    note.textContent = text
  }
  box.addEventListener('keydown', e => {
    if (e.key === 'Escape' && !note.hidden) {
      note.hidden = true
      e.stopPropagation()
    }
  })
  box.append(list, note)
  const set = () => {
    list.setAttribute('aria-label', model.label)
    // Keep the rows that are there: a number that changes must not make the reader lose the place.
    while (list.children.length > model.items.length) list.lastElementChild.remove()
    model.items.forEach((item, n) => {
      let li = list.children[n]
      if (!li) {
        li = element('li')
        li.innerHTML = '<i aria-hidden="true"></i><span class="words"></span><small class="kept"></small><b></b>'
        list.append(li)
      }
      li.style.setProperty('--qf', item.quantity === 'ink' ? 'var(--ink)' : `var(--${item.quantity}-f)`)
      li.style.setProperty('--qt', item.quantity === 'ink' ? 'var(--ink)' : `var(--${item.quantity}-t)`)
      const [, words, kept, value] = li.children
      if (words.dataset.words !== item.words) {
        words.dataset.words = item.words
        if (item.explain) words.replaceChildren(term(item.words, () => list.said(item.explain)))
        else words.textContent = item.words
      }
      if (kept.textContent !== item.kept) kept.textContent = item.kept
      kept.hidden = !item.kept
      if (value.textContent !== item.value) value.textContent = item.value
    })
  }
  model.on('items', set)
  model.on('label', set)
  set()
  return box
}
