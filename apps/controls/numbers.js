import { element } from '../web/element.js'
import { asked, trouble } from './beside.js'

let made = 0
export function render({ model }) {
  const id = `gw-numbers-${++made}`
  const box = element('div', 'gw gw-numbers')
  box.setAttribute('role', 'group')
  const head = element('p'),
    row = element('div'),
    said = element('p')
  head.className = 'head'
  row.className = 'row'
  said.className = 'note'
  said.setAttribute('role', 'status')
  box.append(head, row, said)
  trouble(model, box)
  const inputs = new Map()
  const fill = () => {
    for (const [key, i] of inputs) if (i.value === '' || Number(i.value) !== model.value[key]) i.value = model.value[key]
  }
  const set = () => {
    head.textContent = model.label
    head.hidden = !model.show_label
    box.setAttribute('aria-label', model.label)
    inputs.clear()
    row.replaceChildren(
      ...model.fields.map((f, n) => {
        const cell = element('div', 'cell')
        const label = element('label'),
          input = element('input'),
          unit = element('span')
        label.htmlFor = input.id = `${id}-${n}`
        label.textContent = f.label
        unit.textContent = f.unit
        unit.className = 'unit'
        unit.id = `${id}-${n}-u`
        Object.assign(input, {
          type: 'number',
          min: f.start,
          max: f.end,
          step: f.step,
          disabled: model.disabled,
          inputMode: 'decimal',
        })
        input.style.width = `${Math.max(3, String(f.end).length + (String(f.step).split('.')[1]?.length ?? 0)) + 1.6}ch`
        if (f.unit) input.setAttribute('aria-describedby', unit.id)
        input.addEventListener('change', () => {
          const typed = input.value === '' ? model.value[f.key] : Number(input.value)
          const kept = Math.min(f.end, Math.max(f.start, typed))
          said.textContent = kept === typed ? '' : `${f.label}: from ${f.start} to ${f.end} ${f.unit}. Set to ${kept}.`
          input.value = kept
          if (kept !== model.value[f.key]) {
            model.value = { ...model.value, [f.key]: kept }
            asked()
          }
        })
        inputs.set(f.key, input)
        const line = element('span', 'line')
        line.append(input, unit)
        cell.append(label, line)
        return cell
      }),
    )
    fill()
  }
  model.on('value', fill)
  for (const p of ['label', 'show_label', 'fields', 'disabled']) model.on(p, set)
  set()
  return box
}
