// What happened when, the last first.

import { element } from '../web/element.js'
export function render({ model }) {
  const list = element('ol', 'gw gw-happened')
  list.setAttribute('aria-label', 'What happened, the last first')
  const show = () =>
    list.replaceChildren(
      ...model.items.map(([at, what]) => {
        const row = element('li'),
          when = element('b', '', at)
        row.append(when, what)
        return row
      }),
    )
  model.on('items', show)
  show()
  return list
}
