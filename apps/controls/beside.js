// What stands under a control: why it was not taken, and what its words mean once they are tapped.

import { element } from '../web/element.js'

// Tells the page that the person has set something, so that what is shown can be dimmed until the answer comes.
export const asked = () => window.dispatchEvent(new Event('gw-asked'))

export function trouble(model, box) {
  const words = element('p', 'trouble')
  words.setAttribute('role', 'alert')
  box.append(words)
  const say = () => {
    words.textContent = model.trouble
    words.hidden = !model.trouble
  }
  model.on('trouble', say)
  say()
}

// Writes a control's label; one that has an explanation is a button that folds it out, and Escape folds it away.
export function explained(model, label, box) {
  const words = element('p', 'note meaning')
  words.setAttribute('role', 'status')
  words.hidden = true
  box.append(words)
  box.addEventListener('keydown', event => {
    if (event.key === 'Escape' && !words.hidden) {
      words.hidden = true
      event.stopPropagation()
    }
  })
  return () => {
    if (!model.explain) {
      label.textContent = model.label
      return
    }
    if (label.firstElementChild?.textContent === model.label) return
    const term = element('button')
    term.type = 'button'
    term.className = 'term'
    term.textContent = model.label
    term.addEventListener('click', event => {
      event.preventDefault()
      words.textContent = model.explain
      words.hidden = !words.hidden
      term.setAttribute('aria-expanded', String(!words.hidden))
    })
    term.setAttribute('aria-expanded', 'false')
    label.replaceChildren(term)
  }
}
