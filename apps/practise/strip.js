// One cycle of the timer with a playhead and a countdown, or what the switch did in the last seconds. Height is on and off.

import { element } from '../web/element.js'
import { plain } from '../web/plain.js'

const SPAN_S = 20,
  EVERY_MS = 120
export function render({ model }) {
  const view = {}
  const box = element('div', 'gw gw-strip')
  box.innerHTML = `<p class="said" role="timer" aria-live="off"></p><svg role="img" preserveAspectRatio="none" viewBox="0 0 1000 100">
    <line x1="0" x2="1000" y1="92" y2="92" stroke="var(--line)" stroke-width="1" vector-effect="non-scaling-stroke"/>
    <path class="past" fill="var(--current-f)" fill-opacity=".22" stroke="var(--current-f)" stroke-width="2" vector-effect="non-scaling-stroke"/>
    <line class="head" y1="2" y2="98" stroke="var(--ink)" stroke-width="2.5" vector-effect="non-scaling-stroke"/></svg>
    <p class="ends"><span></span><span></span></p>`
  view.said = box.querySelector('.said')
  view.svg = box.querySelector('svg')
  view.path = box.querySelector('.past')
  view.head = box.querySelector('.head')
  ;[view.left, view.right] = box.querySelectorAll('.ends span')

  view.y = level => 92 - 80 * level
  view.line = points => points.map(([px, py], i) => `${i ? 'L' : 'M'}${px.toFixed(1)} ${py.toFixed(1)}`).join('')
  view.told = {}
  let at = performance.now()
  let timer = 0
  view.words = ''

  view.seconds = s => `${Math.max(0, Math.ceil(s - 1e-6))} s`

  const draw = () => {
    if (!view.told.control || document.documentElement.hasAttribute('data-lost')) return
    const now = (performance.now() - at) / 1000
    if (view.told.control === 'timed') timed(view, now)
    else held(view, now)
  }
  const take = () => {
    view.told = plain(model.told) ?? {}
    at = performance.now()
    draw()
  }
  model.on('told', take)
  timer = setInterval(() => {
    if (!document.hidden) draw()
  }, EVERY_MS)
  model.on('remove', () => clearInterval(timer))
  take()
  return box
}

function say(view, text) {
  if (text !== view.words) {
    view.words = text
    view.said.textContent = text
  }
}

function timed(view, now) {
  const age = view.told.age_s + now,
    phase = age < 0 ? 0 : age % view.told.cycle_s
  view.path.setAttribute('d', view.line(view.told.profile.map(([t, level]) => [(1000 * t) / view.told.cycle_s, view.y(level)])))
  view.head.setAttribute('x1', (1000 * phase) / view.told.cycle_s)
  view.head.setAttribute('x2', (1000 * phase) / view.told.cycle_s)
  view.head.setAttribute('visibility', 'visible')
  if (age < 0) say(view, `Off: stimulation begins in ${view.seconds(-age)}`)
  else if (phase < view.told.on_s) say(view, `On now: ${view.seconds(view.told.on_s - phase)} left`)
  else say(view, `Off: next stimulation in ${view.seconds(view.told.cycle_s - phase)}`)
  view.left.textContent = '0 s'
  view.right.textContent = `one cycle, ${view.told.cycle_s.toFixed(0)} s`
  view.svg.setAttribute(
    'aria-label',
    `One cycle of the timer: ${view.told.on_s.toFixed(0)} s on, ${(view.told.cycle_s - view.told.on_s).toFixed(0)} s off.`,
  )
}

function held(view, now) {
  const x = ago => 1000 - (1000 * ago) / SPAN_S,
    points = [[0, view.y(0)]]
  let still = false
  for (const [from, to] of view.told.presses) {
    const begun = from + now,
      ended = to < 0 ? -1 : to + now
    if (ended >= 0 && ended - view.told.down_s > SPAN_S) continue
    const lasts = ended < 0 ? begun : begun - ended,
      top = view.told.up_s ? Math.min(1, lasts / view.told.up_s) : 1
    points.push([x(begun), view.y(0)], [x(begun - view.told.up_s * top), view.y(top)])
    if (ended < 0) {
      points.push([1000, view.y(top)])
      still = true
    } else points.push([x(ended), view.y(top)], [x(ended - view.told.down_s * top), view.y(0)])
  }
  points.push([1000, view.y(0)]) // the area closes along the bottom, not across
  view.path.setAttribute('d', view.line(points.map(([a, b]) => [Math.min(1000, Math.max(0, a)), b])))
  view.head.setAttribute('visibility', 'hidden')
  const last = view.told.presses.at(-1)
  say(view, still ? `Held for ${(last[0] + now).toFixed(0)} s` : 'Off: hold the switch to stimulate')
  view.left.textContent = `${SPAN_S} s ago`
  view.right.textContent = 'now'
  view.svg.setAttribute('aria-label', `When the switch was held in the last ${SPAN_S} seconds.`)
}
