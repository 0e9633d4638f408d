// Keeps the scene in the address, and in the links to the other pages.

import { element } from '../web/element.js'

export function render({ model }) {
  let wait
  const write = () => {
    const url = new URL(location.href)
    url.searchParams.set('s', model.s)
    const more = model.more instanceof Map ? [...model.more] : Object.entries(model.more ?? {})
    for (const [name, text] of more) {
      if (text) url.searchParams.set(name, text)
      else url.searchParams.delete(name)
    }
    history.replaceState(null, '', url)
    for (const link of document.querySelectorAll('nav a, a[data-language]')) {
      const to = new URL(link.href)
      to.searchParams.set('s', model.s)
      link.href = to
    }
  }
  const later = () => {
    clearTimeout(wait)
    wait = setTimeout(write, 250)
  }
  for (const name of ['s', 'more']) model.on(name, later)
  if (model.at_once && model.s) write()
  return element('span')
}
