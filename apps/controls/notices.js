import { element } from '../web/element.js'
const SIGN = {
  inside:
    '<svg viewBox="0 0 16 16" role="img" aria-label="Inside the limits."><path d="M3 8.5l3.4 3.5L13 4.5" fill="none" stroke="currentColor" stroke-width="2.4" stroke-linecap="round" stroke-linejoin="round"/></svg>',
  close:
    '<svg viewBox="0 0 16 16" role="img" aria-label="Close to a limit."><path d="M8 2.5v7" stroke="currentColor" stroke-width="2.6" stroke-linecap="round"/><circle cx="8" cy="13.2" r="1.6" fill="currentColor"/></svg>',
  over: '<i class="over" role="img" aria-label="Over a limit."></i>',
}
export function render({ model }) {
  const list = element('ul', 'gw gw-notices')
  list.setAttribute('aria-live', 'polite')
  let before = ''
  const set = () => {
    list.hidden = !model.items.length && !model.empty
    const now = JSON.stringify([model.items, model.empty])
    if (now === before) return
    before = now
    list.replaceChildren(
      ...model.items.map(item => {
        const li = element('li')
        li.className = item.kind
        li.innerHTML = `${SIGN[item.kind] ?? ''}<span></span>`
        const words = li.lastElementChild
        if (item.strong) {
          const b = element('b', '', item.strong)
          words.append(b, ' ')
        }
        words.append(item.text)
        return li
      }),
    )
    if (!model.items.length && model.empty) {
      const li = element('li', 'none', model.empty)
      list.append(li)
    }
  }
  model.on('items', set)
  model.on('empty', set)
  set()
  return list
}
