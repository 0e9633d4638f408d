export function render({model}) {
  const list = document.createElement('ol')
  list.className = 'gw gw-thread'
  const set = () => {
    list.setAttribute('aria-label', model.label)
    // Keep the rows that are there: a number that changes must not make the reader lose the place.
    while (list.children.length > model.items.length) list.lastElementChild.remove()
    model.items.forEach((item, n) => {
      let li = list.children[n]
      if (!li) {
        li = document.createElement('li')
        li.innerHTML = '<i aria-hidden="true"></i><span class="words"></span><b></b>'
        list.append(li)
      }
      li.style.setProperty('--qf', item.quantity === 'ink' ? 'var(--ink)' : `var(--${item.quantity}-f)`)
      li.style.setProperty('--qt', item.quantity === 'ink' ? 'var(--ink)' : `var(--${item.quantity}-t)`)
      const [, words, value] = li.children
      if (words.textContent !== item.words) words.textContent = item.words
      if (value.textContent !== item.value) value.textContent = item.value
    })
  }
  model.on('items', set); model.on('label', set)
  set()
  return list
}
