import { element } from '../web/element.js'
import { number } from '../web/numbers.js'
import { fillTrack } from '../web/range.js'
import { asked, explained, trouble } from './beside.js'

let made = 0
export function render({ model }) {
  const id = `gw-slider-${++made}`
  const box = element('div', 'gw gw-slider')
  box.innerHTML = `<label for="${id}"></label><output for="${id}" aria-live="off"></output>
    <input type="range" id="${id}"><p class="note" id="${id}-note"></p>`
  const [label, out, input, note] = box.children
  const nameIt = explained(model, label, box)
  trouble(model, box)
  let waiting = false

  const digits = step => Math.max(0, (String(step).split('.')[1] ?? '').length)
  const words = v => number(Number(v), digits(model.step))
  const show = v => {
    out.innerHTML = ''
    const b = element('b', '', words(v))
    out.append(b, model.unit ? ` ${model.unit}` : '')
    input.setAttribute('aria-valuetext', `${words(v)}${model.unit ? ' ' + model.unit : ''}`)
    fillTrack(input)
  }
  const set = () => {
    nameIt()
    box.classList.toggle('big', model.big)
    box.style.setProperty('--qf', model.quantity === 'ink' ? 'var(--ink)' : `var(--${model.quantity}-f)`)
    box.style.setProperty('--qt', model.quantity === 'ink' ? 'var(--ink)' : `var(--${model.quantity}-t)`)
    // The range comes before the value, or the browser would clip a value that is right.
    input.min = model.start
    input.max = model.end
    input.step = model.step
    input.disabled = model.disabled
    note.textContent = model.note
    note.hidden = !model.note
    if (model.note) input.setAttribute('aria-describedby', `${id}-note`)
    else input.removeAttribute('aria-describedby')
    if (Number(input.value) !== model.value) input.value = model.value
    show(model.value)
  }
  const send = () => {
    waiting = false
    model.value = Number(input.value)
    asked()
  }
  input.addEventListener('input', () => {
    show(Number(input.value))
    if (!waiting) {
      waiting = true
      requestAnimationFrame(send)
    }
  })
  model.on('value', () => {
    // While a newer value waits to be sent, an older one coming back must not move the handle.
    if (waiting) return
    if (Number(input.value) !== model.value) input.value = model.value
    show(model.value)
  })
  for (const p of ['label', 'unit', 'start', 'end', 'step', 'quantity', 'big', 'note', 'disabled', 'explain']) model.on(p, set)
  set()
  return box
}
