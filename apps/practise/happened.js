// What happened when, the last first.
export function render({ model }) {
  const list = document.createElement('ol')
  list.className = 'gw gw-happened'
  list.setAttribute('aria-label', 'What happened, the last first')
  const show = () =>
    list.replaceChildren(
      ...model.items.map(([at, what]) => {
        const row = document.createElement('li'),
          when = document.createElement('b')
        when.textContent = at
        row.append(when, what)
        return row
      }),
    )
  model.on('items', show)
  show()
  return list
}
