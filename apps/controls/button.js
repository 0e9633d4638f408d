import { element } from '../web/element.js'
export function render({ model }) {
  const button = element('button')
  button.type = 'button'
  const set = () => {
    button.className = `gw gw-button${model.strong ? ' strong' : ''}`
    button.textContent = model.label
    button.disabled = model.disabled
    if (model.pressed) button.setAttribute('aria-pressed', model.pressed)
    else button.removeAttribute('aria-pressed')
  }
  button.addEventListener('click', () => {
    model.clicks += 1
  })
  for (const p of ['label', 'strong', 'pressed', 'disabled']) model.on(p, set)
  set()
  return button
}
