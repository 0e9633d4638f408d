// One cycle of the timer with a playhead and a countdown, or what the switch did in the last seconds. Height is on and off.

import { plain } from '../web/plain.js'

const SPAN_S = 20,
  EVERY_MS = 120
export function render({ model }) {
  const box = document.createElement('div')
  box.className = 'gw gw-strip'
  box.innerHTML = `<p class="said" role="timer" aria-live="off"></p><svg role="img" preserveAspectRatio="none" viewBox="0 0 1000 100">
    <line x1="0" x2="1000" y1="92" y2="92" stroke="var(--line)" stroke-width="1" vector-effect="non-scaling-stroke"/>
    <path class="past" fill="var(--current-f)" fill-opacity=".22" stroke="var(--current-f)" stroke-width="2" vector-effect="non-scaling-stroke"/>
    <line class="head" y1="2" y2="98" stroke="var(--ink)" stroke-width="2.5" vector-effect="non-scaling-stroke"/></svg>
    <p class="ends"><span></span><span></span></p>`
  const said = box.querySelector('.said'),
    svg = box.querySelector('svg'),
    path = box.querySelector('.past'),
    head = box.querySelector('.head')
  const [left, right] = box.querySelectorAll('.ends span')
  const y = level => 92 - 80 * level
  const line = points => points.map(([px, py], i) => `${i ? 'L' : 'M'}${px.toFixed(1)} ${py.toFixed(1)}`).join('')
  let told = {},
    at = performance.now(),
    timer = 0,
    words = ''

  const say = text => {
    if (text !== words) {
      words = text
      said.textContent = text
    }
  }
  const seconds = s => `${Math.max(0, Math.ceil(s - 1e-6))} s`

  function timed(now) {
    const age = told.age_s + now,
      phase = age < 0 ? 0 : age % told.cycle_s
    path.setAttribute('d', line(told.profile.map(([t, level]) => [(1000 * t) / told.cycle_s, y(level)])))
    head.setAttribute('x1', (1000 * phase) / told.cycle_s)
    head.setAttribute('x2', (1000 * phase) / told.cycle_s)
    head.setAttribute('visibility', 'visible')
    if (age < 0) say(`Off: stimulation begins in ${seconds(-age)}`)
    else if (phase < told.on_s) say(`On now: ${seconds(told.on_s - phase)} left`)
    else say(`Off: next stimulation in ${seconds(told.cycle_s - phase)}`)
    left.textContent = '0 s'
    right.textContent = `one cycle, ${told.cycle_s.toFixed(0)} s`
    svg.setAttribute(
      'aria-label',
      `One cycle of the timer: ${told.on_s.toFixed(0)} s on, ${(told.cycle_s - told.on_s).toFixed(0)} s off.`,
    )
  }

  function held(now) {
    const x = ago => 1000 - (1000 * ago) / SPAN_S,
      points = [[0, y(0)]]
    let still = false
    for (const [from, to] of told.presses) {
      const begun = from + now,
        ended = to < 0 ? -1 : to + now
      if (ended >= 0 && ended - told.down_s > SPAN_S) continue
      const lasts = ended < 0 ? begun : begun - ended,
        top = told.up_s ? Math.min(1, lasts / told.up_s) : 1
      points.push([x(begun), y(0)], [x(begun - told.up_s * top), y(top)])
      if (ended < 0) {
        points.push([1000, y(top)])
        still = true
      } else points.push([x(ended), y(top)], [x(ended - told.down_s * top), y(0)])
    }
    points.push([1000, y(0)]) // the area closes along the bottom, not across
    path.setAttribute('d', line(points.map(([a, b]) => [Math.min(1000, Math.max(0, a)), b])))
    head.setAttribute('visibility', 'hidden')
    const last = told.presses.at(-1)
    say(still ? `Held for ${(last[0] + now).toFixed(0)} s` : 'Off: hold the switch to stimulate')
    left.textContent = `${SPAN_S} s ago`
    right.textContent = 'now'
    svg.setAttribute('aria-label', `When the switch was held in the last ${SPAN_S} seconds.`)
  }

  const draw = () => {
    if (!told.control || document.documentElement.hasAttribute('data-lost')) return
    const now = (performance.now() - at) / 1000
    if (told.control === 'timed') timed(now)
    else held(now)
  }
  const take = () => {
    told = plain(model.told) ?? {}
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
