// While a setting has no answer yet, what is shown belongs to an older one: it is dimmed, with a word.

import { element } from '../web/element.js'

const PATIENCE_MS = 300

export function render({ model }) {
  const root = document.documentElement
  let asked = 0,
    due = 0,
    sending = false
  const settle = () => {
    if (model.shown < asked) {
      due ||= setTimeout(() => root.toggleAttribute('data-late', true), PATIENCE_MS)
      return
    }
    clearTimeout(due)
    due = 0
    root.removeAttribute('data-late')
  }
  const ask = () => {
    asked += 1
    settle()
    if (sending) return
    sending = true
    // after the control has sent its own value
    requestAnimationFrame(() =>
      requestAnimationFrame(() => {
        sending = false
        model.asked = asked
      }),
    )
  }
  window.addEventListener('gw-asked', ask)
  model.on('shown', settle)
  model.on('remove', () => window.removeEventListener('gw-asked', ask))
  return element('span')
}
