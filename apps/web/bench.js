// A bench: the hand, its curve and the settings that a step leaves free. The current is worked out here from the model's own
// samples; every other setting asks for new ones, one question at a time, the newest last.

import { STRONGEST_MA } from './given.js'
import { placeAmong } from './hand/player.js'
import { handView } from './hand/view.js'
import { linesPicture } from './plot.js'
import { element } from './element.js'
import { digitsFor, number } from './numbers.js'
import { fillTrack } from './range.js'

const CURRENT = 'channel.0.pulse.amplitude_ma'
const QUANTITY = { [CURRENT]: 'current' }
let made = 0

// The state at one current, between the samples of `live`.
export function stateAt(live, ma) {
  const x = live.amplitude_ma,
    [i, j, f] = placeAmong(x.length, k => x[k], ma)
  const mix = values => values[i] + (values[j] - values[i]) * f
  const each = table => Object.fromEntries(Object.entries(table).map(([k, v]) => [k, mix(v)]))
  const points = live.points?.length ? live.points[i].map((p, k) => p.map((v, m) => v + (live.points[j][k][m] - v) * f)) : null
  return {
    angle_deg: each(live.angle_deg),
    tension: each(live.tension),
    slack_mm: each(live.slack_mm),
    recruited: each(live.recruited),
    current: ma / STRONGEST_MA,
    opening: { mm: mix(live.opening_mm), points },
    pads: live.pads,
    object: live.object,
    wrist_held: live.wrist_held,
  }
}

const turned = v => (Math.abs(v) < 0.5 ? 'straight' : `${number(Math.abs(v))}° ${v > 0 ? 'bent' : 'back'}`)

export function benchPicture(host, B, { onchange, onreach, onsolved, ask, locked = false } = {}) {
  const bench = { onchange, onreach, onsolved, ask, locked }
  bench.id = `gwt-bench-${++made}`
  layOut(host, bench)

  bench.first = Object.fromEntries(B.settings.map(s => [s.path, s.value]))
  bench.now = { ...bench.first }
  bench.live = B.live
  bench.kept = []
  bench.atRest = { ...bench.now }
  bench.alive = true
  bench.shownOf = { ...bench.now }
  bench.asking = false
  bench.wanted = null
  bench.spokenAt = 0
  bench.later = 0

  // A knob passes through all currents between two: so far is one stretch, of these settings and of those at the start.
  bench.whole = B.curve !== 'so far'

  bench.passed = stretch(bench)
  bench.passedAtStart = bench.passed

  bench.hand = handView(bench.handBox, { whole: B.settings.some(s => s.path.includes('.pads.')) })
  bench.curve = linesPicture(bench.curveBox, curvePicture(B, bench))

  // What is to be reached: once met it stays met, with the settings that met it.
  // `onsolved` hears whenever all hold at once, with less current than before; a slider on its way is waited for.
  bench.solvedAt = Infinity
  bench.solvedLater = 0
  bench.aims = B.goals ?? []
  bench.met = bench.aims.map(() => null)
  bench.list = element('ul', 'gwt-goals')
  if (bench.aims.length) bench.box.insertBefore(bench.list, bench.acts)

  bench.undo.addEventListener('click', () => {
    const v = bench.kept.pop()
    if (v) to(B, bench, v)
    bench.undo.disabled = !bench.kept.length
  })
  bench.back.addEventListener('click', () => {
    bench.kept.push({ ...bench.now })
    to(B, bench, bench.first)
    paint(B, bench, 'ease')
  })

  bench.rows = B.settings.map((s, n) => settingRow(B, bench, s, n))
  const redraw = () => paint(B, bench, 'at once')
  window.addEventListener('gw-look', redraw)
  paint(B, bench, 'at once')
  return {
    // what another hand has set, such as the educator's
    set(values) {
      to(B, bench, { ...bench.now, ...values }, false)
    },
    settings: () => ({ ...bench.now }),
    destroy() {
      bench.alive = false
      clearTimeout(bench.later)
      window.removeEventListener('gw-look', redraw)
      bench.hand.destroy()
      bench.curve.destroy()
      bench.box.remove()
    },
  }
}

function settingRow(B, bench, s, n) {
  const control = {}
  const row = element('div', 'gwt-setting')
  control.name = `${bench.id}-${n}`
  control.label = element('label', '', s.label)
  control.out = element('output')
  control.out.setAttribute('aria-live', 'off')
  control.label.htmlFor = control.name
  row.path = s.path
  row.style.setProperty('--qf', QUANTITY[s.path] ? `var(--${QUANTITY[s.path]}-f)` : 'var(--ink)')
  row.style.setProperty('--qt', QUANTITY[s.path] ? `var(--${QUANTITY[s.path]}-t)` : 'var(--ink)')
  if (s.choices) {
    choiceIn(B, bench, s, row, control)
  } else {
    sliderIn(B, bench, s, row, control)
  }
  row.set(s.value)
  if (bench.locked) for (const part of row.querySelectorAll('input, select')) part.disabled = true
  bench.settings.append(row)
  return row
}

function choiceIn(B, bench, s, row, control) {
  const pick = Object.assign(element('select'), { id: control.name })
  s.choices.forEach(([, words], i) => pick.append(Object.assign(element('option', '', words), { value: String(i) })))
  row.set = v => {
    pick.value = String(
      Math.max(
        0,
        s.choices.findIndex(([c]) => c === v),
      ),
    )
  }
  pick.addEventListener('change', () => {
    change(B, bench, s.path, s.choices[Number(pick.value)][0])
    rest(B, bench)
  })
  row.append(control.label, pick)
  row.classList.add('choice')
}

function sliderIn(B, bench, s, row, control) {
  const input = Object.assign(element('input'), { type: 'range', id: control.name, min: s.low, max: s.high, step: s.step })
  input.value = s.value ?? s.held_value ?? (s.low + s.high) / 2
  const free = s.free_words ? Object.assign(element('input'), { type: 'checkbox' }) : null
  control.out.htmlFor = control.name
  const show = () => {
    const v = Number(input.value),
      digits = s.path === CURRENT && !(v % 1) ? 0 : digitsFor(s.step)
    const unit = `${s.unit && s.unit !== '°' ? ' ' : ''}${s.unit ?? ''}`
    const words = free && !free.checked ? s.free_words : `${number(v, digits)}${unit}`
    control.out.textContent = words
    input.setAttribute('aria-valuetext', words)
    fillTrack(input)
    input.disabled = bench.locked || Boolean(free && !free.checked)
  }
  row.set = v => {
    if (free) free.checked = v !== null
    if (v !== null) input.value = v
    show()
  }
  let due = false
  const send = () => {
    due = false
    change(B, bench, s.path, free && !free.checked ? null : Number(input.value))
  }
  input.addEventListener('input', () => {
    show()
    if (!due) {
      due = true
      requestAnimationFrame(send)
    }
  })
  input.addEventListener('change', () => {
    send()
    rest(B, bench)
  })
  row.append(control.label, control.out, input)
  if (free) {
    const tick = element('label', 'gwt-tick')
    tick.append(free, ` ${s.held_words}`)
    free.addEventListener('change', () => {
      show()
      send()
      rest(B, bench)
    })
    row.append(tick)
  }
}

function current(bench) {
  return bench.now[CURRENT] ?? bench.live.at_ma
}

function stretch(bench) {
  return { low: current(bench), high: current(bench) }
}

function pass(bench) {
  bench.passed.low = Math.min(bench.passed.low, current(bench))
  bench.passed.high = Math.max(bench.passed.high, current(bench))
}

function drawn(bench, of, { low, high }) {
  if (bench.whole) return { x: of.amplitude_ma, y: of.opening_mm }
  const inside = of.amplitude_ma.filter(ma => ma > low && ma < high),
    x = [...new Set([low, ...inside, high])]
  return { x, y: x.map(ma => stateAt(of, ma).opening.mm) }
}

function curvePicture(B, bench) {
  const ma = current(bench),
    state = stateAt(bench.live, ma),
    other = bench.live !== B.live
  const lines = [{ label: other ? 'now' : '', ...drawn(bench, bench.live, bench.passed), dash: '', quantity: 'opening' }]
  if (other) lines.push({ label: 'at the start', ...drawn(bench, B.live, bench.passedAtStart), dash: 'dash', quantity: 'ink2' })
  const high = Math.max(...bench.live.opening_mm, ...B.live.opening_mm)
  const width = bench.live.object?.diameter_mm
  return {
    title: 'Opening against current',
    text: `At ${number(ma)} mA the opening is ${number(state.opening.mm)} mm.`,
    x: {
      name: 'Current',
      unit: 'mA',
      quantity: 'current',
      low: 0,
      high: bench.live.amplitude_ma[bench.live.amplitude_ma.length - 1],
    },
    y: { name: 'Opening', unit: 'mm', quantity: 'opening', low: 0, high: high > 112 ? Math.ceil(high / 20 + 0.5) * 20 : 120 },
    lines,
    levels: width ? [{ y: width, label: `${bench.live.object.name}, ${number(width)} mm` }] : [],
    points: [{ x: ma, y: state.opening.mm, present: true }],
  }
}

function told(bench) {
  const state = stateAt(bench.live, current(bench)),
    a = state.angle_deg
  return [
    ['current', 'current', `${number(current(bench), current(bench) % 1 ? 1 : 0)} mA`],
    ['force', 'openers called in', `${number(100 * state.recruited.openers)} %`],
    ['force', 'closers', `${number(100 * state.recruited.closers)} %`],
    ['angle', 'wrist', turned(a.wrist)],
    ['angle', 'base joint', turned(a.MCP)],
    ['angle', 'middle joint', turned(a.PIP)],
    ['opening', 'opening', state.opening.mm < 3 ? 'none' : `${number(state.opening.mm)} mm`],
  ]
}

function paint(B, bench, how) {
  if (!bench.alive) return
  if (!needsModel(B, bench)) pass(bench)
  const items = told(bench),
    words = items.map(([, name, value]) => `${name} ${value}`).join(', ')
  bench.hand.show(stateAt(bench.live, current(bench)), how)
  bench.hand.say(`Hand from the thumb side: ${words}.`)
  bench.curve.update(curvePicture(B, bench))
  bench.thread.replaceChildren(
    ...items.map(([q, name, value]) => {
      const part = element('span'),
        b = element('b', '', value)
      b.style.color = `var(--${q}-t)`
      part.append(`${name} `, b)
      return part
    }),
  )
  reach(B, bench)
  bench.undo.disabled = !bench.kept.length
  bench.back.disabled = B.settings.every(s => bench.now[s.path] === bench.first[s.path])
}

function reach(B, bench) {
  if (!bench.aims.length || needsModel(B, bench)) return
  const s = stateAt(bench.live, current(bench)),
    a = s.angle_deg
  const value = { current_ma: current(bench), opening_mm: s.opening.mm, wrist_deg: a.wrist, base_deg: a.MCP, middle_deg: a.PIP }
  const claw = a.MCP <= 0 && a.PIP > 20
  const holds = bench.aims.map(
    aim =>
      (aim.claw === null || aim.claw === claw) &&
      Object.entries(aim.within).every(([key, [low, high]]) => value[key] >= low && value[key] <= high),
  )
  clearTimeout(bench.solvedLater)
  if (bench.onsolved && holds.every(Boolean) && current(bench) < bench.solvedAt)
    bench.solvedLater = setTimeout(() => {
      bench.solvedAt = current(bench)
      bench.onsolved({ ...bench.now })
    }, 400)
  bench.aims.forEach((aim, i) => {
    if (!bench.met[i] && holds[i]) {
      bench.met[i] = told(bench)
        .filter(([, name]) => ['current', 'wrist', 'opening'].includes(name))
        .map(([, n, v]) => `${n} ${v}`)
        .join(', ')
      bench.spoken.textContent = `Reached: ${bench.met[i]}.`
      bench.onreach?.(i, bench.met[i])
    }
  })
  const text = JSON.stringify(bench.met)
  if (bench.list.dataset.met === text) return
  bench.list.dataset.met = text
  bench.list.replaceChildren(
    ...bench.aims.map((aim, i) => {
      const item = element('li', bench.met[i] ? 'met' : ''),
        words = element('span')
      words.innerHTML = aim.html
      for (const p of [...words.querySelectorAll(':scope > p')]) p.replaceWith(...p.childNodes)
      item.append(element('b', '', bench.met[i] ? '\u2713' : '\u25cb'), words)
      item.append(element('span', 'gwt-how', bench.met[i] ? `Met: ${bench.met[i]}.` : 'Not yet.'))
      return item
    }),
  )
}

function say(bench) {
  clearTimeout(bench.later)
  bench.later = setTimeout(
    () => {
      bench.spokenAt = performance.now()
      bench.spoken.textContent = told(bench)
        .map(([, n, v]) => `${n} ${v}`)
        .join(', ')
    },
    Math.max(150, 1000 - (performance.now() - bench.spokenAt)),
  )
}

async function pull(B, bench) {
  if (bench.asking || !bench.ask) return
  bench.asking = true
  while (bench.wanted && bench.alive) {
    const sent = bench.wanted
    bench.wanted = null
    bench.box.setAttribute('aria-busy', 'true')
    try {
      const answer = await bench.ask(sent)
      if (!bench.alive) return
      bench.live = settingsAtStart(B, bench, sent) ? B.live : answer
      bench.passed = bench.live === B.live ? bench.passedAtStart : stretch(bench)
      bench.shownOf = { ...sent }
      bench.trouble.textContent = ''
      if (!bench.wanted) paint(B, bench, 'ease')
    } catch (error) {
      if (!bench.alive) return
      if (!bench.wanted) bench.trouble.textContent = error?.message || 'No answer. The picture shows the settings of before.'
    }
  }
  bench.asking = false
  bench.box.removeAttribute('aria-busy')
}

function settingsAtStart(B, bench, values) {
  return B.settings.every(s => s.path === CURRENT || values[s.path] === bench.first[s.path])
}

function needsModel(B, bench) {
  return B.settings.some(s => s.path !== CURRENT && bench.now[s.path] !== bench.shownOf[s.path])
}

function othersBack(B, bench, path) {
  const others = B.settings.filter(s => s.path !== CURRENT && s.path !== path && bench.now[s.path] !== bench.first[s.path])
  for (const row of bench.rows) if (others.some(s => s.path === row.path)) row.set(bench.first[row.path])
  return Object.fromEntries(others.map(s => [s.path, bench.first[s.path]]))
}

function change(B, bench, path, value) {
  if (bench.now[path] === value) return
  bench.now = { ...bench.now, ...(B.single && path !== CURRENT ? othersBack(B, bench, path) : {}), [path]: value }
  moved(B, bench, path === CURRENT)
}

function moved(B, bench, here, told = true) {
  if (!here || needsModel(B, bench) || bench.wanted) {
    bench.wanted = { ...bench.now }
    pull(B, bench)
  }
  paint(B, bench, 'at once')
  if (!told) return
  say(bench)
  bench.onchange?.({ ...bench.now })
}

function rest(B, bench) {
  if (B.settings.every(s => bench.atRest[s.path] === bench.now[s.path])) return
  bench.kept.push(bench.atRest)
  bench.atRest = { ...bench.now }
  paint(B, bench, 'at once')
}

function to(B, bench, values, told = true) {
  bench.now = { ...values }
  bench.atRest = { ...values }
  for (const row of bench.rows) row.set(bench.now[row.path])
  moved(B, bench, false, told)
}

function layOut(host, bench) {
  bench.box = element('div', 'gwt-bench')
  const heroes = element('div', 'gwt-heroes')
  bench.handBox = element('div', 'gwt-draw gwt-hand')
  const curveCell = element('div', 'gwt-cell')
  bench.curveBox = element('div', 'gwt-draw gwt-lines')
  bench.thread = element('p', 'gwt-thread')
  bench.settings = element('div', 'gwt-settings')
  bench.acts = element('div', 'gwt-actions')
  bench.spoken = element('p', 'vh')
  bench.trouble = element('p', 'gwt-trouble')
  bench.spoken.setAttribute('aria-live', 'polite')
  bench.trouble.setAttribute('role', 'status')
  curveCell.append(bench.curveBox)
  heroes.append(bench.handBox, curveCell)
  bench.box.append(heroes, bench.thread, bench.settings, bench.acts, bench.trouble, bench.spoken)
  host.append(bench.box)

  bench.undo = Object.assign(element('button', 'btn gwt-btn', 'Undo'), { type: 'button', disabled: true })
  bench.back = Object.assign(element('button', 'btn gwt-btn', 'Back to the start'), { type: 'button', disabled: true })
  bench.acts.append(bench.undo, bench.back)
  bench.acts.hidden = bench.locked
}
