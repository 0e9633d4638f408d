import { element } from '../web/element.js'
import { asked, explained, trouble } from './beside.js'

let made = 0
export function render({ model }) {
  const name = `gw-choice-${++made}`
  const box = element('fieldset', 'gw gw-choice')
  const legend = element('legend'),
    strip = element('div', 'seg')
  box.append(legend, strip)
  const nameIt = explained(model, legend, box)
  trouble(model, box)
  const pick = () => {
    for (const i of strip.querySelectorAll('input')) i.checked = i.value === model.value
  }
  const set = () => {
    nameIt()
    legend.classList.toggle('vh', !model.show_label)
    box.classList.toggle('inline', model.inline)
    box.disabled = model.disabled
    strip.replaceChildren(
      ...Object.entries(model.options).map(([value, word]) => {
        const label = element('label'),
          input = element('input'),
          span = element('span')
        Object.assign(input, { type: 'radio', name, value })
        input.addEventListener('change', () => {
          model.value = value
          asked()
        })
        span.textContent = word
        label.append(input, span)
        return label
      }),
    )
    pick()
  }
  model.on('value', pick)
  for (const p of ['label', 'options', 'inline', 'show_label', 'disabled', 'explain']) model.on(p, set)
  set()
  return box
}
