// Half an hour of practice as strips: what the person did above, current below; under it two minutes of it, in words.

import { plain } from '../web/plain.js'
import { element } from '../web/element.js'
import { make } from '../web/svg.js'
import { fillTrack } from '../web/range.js'

export function render({ model }) {
  const view = { model }
  view.root = element('div', 'gw gwh')
  view.NEAR_S = 120
  view.from = 300

  view.model.on('sessions', () => draw(view))
  const sizer = new ResizeObserver(() => {
    if (Math.abs(view.root.clientWidth - wide) > 4) {
      wide = view.root.clientWidth
      draw(view)
    }
  })
  let wide = 0
  sizer.observe(view.root)
  view.model.on('remove', () => sizer.disconnect())
  requestAnimationFrame(() => draw(view))
  return view.root
}

function bars(svg, session, t0, t1, w, words) {
  const x = t => ((t - t0) / (t1 - t0)) * w
  for (const [start, lasts, kind, name] of session.spans) {
    const a = Math.max(start, t0),
      b = Math.min(start + lasts, t1)
    if (b <= a) continue
    const px = x(a),
      wide = Math.max(x(b) - px, 0.6)
    if (kind === 'wait') make(svg, 'rect', { class: 'wait', x: px + 0.5, y: 15, width: Math.max(wide - 1, 0.4), height: 6 })
    else
      make(svg, 'rect', {
        class: kind,
        x: px,
        y: kind === 'set' ? 12 : 6,
        width: Math.max(wide - (words ? 1 : 0), 0.4),
        height: kind === 'set' ? 12 : 24,
      })
    if (words && wide > 7 * name.length)
      make(svg, 'text', {
        class: kind === 'move' ? 'in' : '',
        x: px + 4,
        y: kind === 'move' ? 22 : kind === 'wait' ? 12 : 22,
      }).textContent = name
  }
  const low = words ? 50 : 36
  for (const [a, b] of session.current)
    if (b > t0 && a < t1)
      make(svg, 'rect', {
        class: 'on',
        x: x(Math.max(a, t0)),
        y: low,
        width: Math.max(x(Math.min(b, t1)) - x(Math.max(a, t0)), 0.6),
        height: 12,
      })
  for (const [t] of session.drops) if (t >= t0 && t <= t1) make(svg, 'path', { class: 'drop', d: `M${x(t) - 5} 1h10l-5 9z` })
}

function draw(view) {
  const g = {}
  view.root.replaceChildren()
  const sessions = plain(view.model.sessions)
  g.w = Math.max(view.root.clientWidth - 2, 260)
  if (!sessions.length) return
  keyOf(g)
  g.near = []
  for (const s of sessions) {
    const one = element('section', 'one'),
      head = element('div', 'head')
    head.append(element('h3', '', s.words))
    for (const [value, word] of s.figures) {
      const f = element('span')
      f.append(element('b', '', value), ' ' + word)
      head.append(f)
    }
    const all = make(one, 'svg', { viewBox: `0 0 ${g.w} 54`, role: 'img', 'aria-label': s.spoken })
    const slice = make(all, 'rect', { class: 'slice', y: 0, height: 54 })
    bars(all, s, 0, s.total_s, g.w, false)
    const close = make(one, 'svg', { class: 'near', viewBox: `0 0 ${g.w} 74`, 'aria-hidden': 'true' })
    g.near.push([s, slice, close])
    one.prepend(head)
    view.root.append(one)
  }
  const total = sessions[0].total_s
  const label = element('label')
  g.input = element('input')
  g.out = element('b')
  Object.assign(g.input, {
    type: 'range',
    min: 0,
    max: Math.max(total - view.NEAR_S, 0),
    step: 15,
    value: Math.min(view.from, Math.max(total - view.NEAR_S, 0)),
  })

  g.input.addEventListener('input', () => look(view, g))
  label.append('Two minutes of it', g.input, g.out)
  saveButton(view, g)
  view.root.append(label, g.key, g.save)
  look(view, g)
}

function look(view, g) {
  view.from = +g.input.value
  g.out.textContent = `from ${(view.from / 60).toFixed(view.from % 60 ? 2 : 0)} min`
  g.input.setAttribute('aria-valuetext', g.out.textContent)
  fillTrack(g.input)
  for (const [s, slice, close] of g.near) {
    slice.setAttribute('x', (view.from / s.total_s) * g.w)
    slice.setAttribute('width', (view.NEAR_S / s.total_s) * g.w)
    close.replaceChildren()
    bars(close, s, view.from, view.from + view.NEAR_S, g.w, true)
  }
}

function keyOf(g) {
  g.key = element('div', 'key')
  for (const [kind, word] of [
    ['move', 'moving'],
    ['wait', 'waiting for the timer'],
    ['set', 'set-up, rest, reaction'],
    ['on', 'current on'],
    ['drop', 'dropped'],
  ]) {
    const k = element('span')
    k.append(element('i', kind), word)
    g.key.append(k)
  }
}

function saveButton(view, g) {
  g.save = element('button', '', 'Save the log as CSV')
  g.save.type = 'button'
  g.save.addEventListener('click', () => {
    const a = element('a')
    a.href = URL.createObjectURL(new Blob([view.model.csv], { type: 'text/csv' }))
    a.download = 'graspwave-practice.csv'
    a.click()
    setTimeout(() => URL.revokeObjectURL(a.href), 5000)
  })
}
