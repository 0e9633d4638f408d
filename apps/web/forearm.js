// The forearm's skin unrolled, elbow left: the thumb side is the upper and the lower edge, the little-finger side the middle
// line.

import { element } from './element.js'
import { clamp, make } from './svg.js'

import { paint } from './forearm_paint.js'

export function forearmPicture(draw, P, o = {}) {
  const view = { P, o }
  view.svg = make(draw, 'svg', { class: 'gwt-svg', role: 'img' })
  view.keys = element('div', 'gwt-keys')
  draw.after(view.keys)
  view.place = view.o.place ?? null
  view.alive = true
  view.g = null
  let drag = false
  view.rows = []

  view.set = at => {
    view.place = { ...view.place, value: { x: Math.round(clamp(at.x, 0, 100) * 10) / 10, y: Math.round(at.y) } }
    paint(draw, view)
    view.rows.forEach((row, i) => row.set(i ? view.place.value.y : view.place.value.x))
    view.place.onchange?.(view.place.value)
  }
  view.open = () => view.place && !view.place.locked
  const take = e => {
    const box = view.svg.getBoundingClientRect(),
      mm = clamp((e.clientX - box.left - view.g.left) / view.g.scale, 0, view.g.arm.length_mm)
    const part = clamp((e.clientY - box.top - view.g.mid) / (view.g.scale * 2 * Math.PI * view.g.radius(mm)), -0.5, 0.5)
    const deg = (part + 0.5) * 360 - 90
    view.set({ x: (100 * mm) / view.g.arm.length_mm, y: deg > 180 ? deg - 360 : deg })
  }
  view.svg.addEventListener('pointerdown', e => {
    if (!view.open() || e.button) return
    view.svg.setPointerCapture(e.pointerId)
    drag = true
    take(e)
    e.preventDefault()
  })
  view.svg.addEventListener('pointermove', e => {
    if (drag) take(e)
  })
  for (const end of ['pointerup', 'pointercancel'])
    view.svg.addEventListener(end, () => {
      drag = false
    })

  const sizer = new ResizeObserver(() => paint(draw, view))
  sizer.observe(draw)
  paint(draw, view)
  build(view)
  return {
    svg: view.svg,
    paint: () => paint(draw, view),
    update(next, options = {}) {
      view.P = next
      if ('place' in options) view.place = options.place
      paint(draw, view)
      build(view)
    },
    destroy() {
      view.alive = false
      sizer.disconnect()
      view.svg.remove()
      view.keys.remove()
    },
  }
}

function range(name, low, high, value, unit, onset) {
  const row = element('label'),
    input = element('input'),
    out = element('output'),
    words = element('span')
  out.setAttribute('aria-live', 'off')
  Object.assign(input, { type: 'range', min: low, max: high, step: 1, value })
  words.textContent = name
  const show = () => {
    out.textContent = unit(Number(input.value))
    input.setAttribute('aria-valuetext', out.textContent)
  }
  input.addEventListener('input', () => {
    show()
    onset(Number(input.value))
  })
  row.append(words, input, out)
  row.set = v => {
    input.value = v
    show()
  }
  show()
  return row
}

function build(view) {
  view.svg.style.touchAction = view.open() ? 'none' : ''
  view.svg.style.cursor = view.open() ? 'crosshair' : ''
  view.keys.replaceChildren()
  view.rows = []
  if (!view.open()) return
  const at = () => view.place.value ?? { x: 50, y: 0 }
  view.rows = [
    range(
      'Along the arm',
      0,
      100,
      at().x,
      v => `${Math.round(v)} % to the wrist`,
      x => view.set({ ...at(), x }),
    ),
    range(
      'Round the arm',
      -180,
      180,
      at().y,
      v =>
        Math.round(v) === 0 ? 'middle of the back' : `${Math.abs(Math.round(v))}° to the ${v > 0 ? 'little finger' : 'thumb'}`,
      y => view.set({ ...at(), y }),
    ),
  ]
  view.keys.append(...view.rows)
}
