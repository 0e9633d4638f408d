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
  const id = `gwt-bench-${++made}`
  const box = element('div', 'gwt-bench'),
    heroes = element('div', 'gwt-heroes'),
    handBox = element('div', 'gwt-draw gwt-hand'),
    curveCell = element('div', 'gwt-cell'),
    curveBox = element('div', 'gwt-draw gwt-lines')
  const thread = element('p', 'gwt-thread'),
    settings = element('div', 'gwt-settings'),
    acts = element('div', 'gwt-actions')
  const spoken = element('p', 'gwt-vh'),
    trouble = element('p', 'gwt-trouble')
  spoken.setAttribute('aria-live', 'polite')
  trouble.setAttribute('role', 'status')
  curveCell.append(curveBox)
  heroes.append(handBox, curveCell)
  box.append(heroes, thread, settings, acts, trouble, spoken)
  host.append(box)

  const undo = Object.assign(element('button', 'gwt-btn', 'Undo'), { type: 'button', disabled: true })
  const back = Object.assign(element('button', 'gwt-btn', 'Back to the start'), { type: 'button', disabled: true })
  acts.append(undo, back)
  acts.hidden = locked

  const first = Object.fromEntries(B.settings.map(s => [s.path, s.value]))
  let now = { ...first },
    live = B.live,
    kept = [],
    atRest = { ...now },
    alive = true,
    shownOf = { ...now }
  let asking = false,
    wanted = null,
    spokenAt = 0,
    later = 0
  const current = () => now[CURRENT] ?? live.at_ma
  // A knob passes through all currents between two: so far is one stretch, of these settings and of those at the start.
  const whole = B.curve !== 'so far'
  const stretch = () => ({ low: current(), high: current() })
  let passed = stretch()
  const passedAtStart = passed
  const pass = () => {
    passed.low = Math.min(passed.low, current())
    passed.high = Math.max(passed.high, current())
  }
  function drawn(of, { low, high }) {
    if (whole) return { x: of.amplitude_ma, y: of.opening_mm }
    const inside = of.amplitude_ma.filter(ma => ma > low && ma < high),
      x = [...new Set([low, ...inside, high])]
    return { x, y: x.map(ma => stateAt(of, ma).opening.mm) }
  }

  const hand = handView(handBox, { whole: B.settings.some(s => s.path.includes('.pads.')) })
  const curve = linesPicture(curveBox, curvePicture())

  function curvePicture() {
    const ma = current(),
      state = stateAt(live, ma),
      other = live !== B.live
    const lines = [{ label: other ? 'now' : '', ...drawn(live, passed), dash: '', quantity: 'opening' }]
    if (other) lines.push({ label: 'at the start', ...drawn(B.live, passedAtStart), dash: 'dash', quantity: 'ink2' })
    const high = Math.max(...live.opening_mm, ...B.live.opening_mm)
    const width = live.object?.diameter_mm
    return {
      title: 'Opening against current',
      text: `At ${number(ma)} mA the opening is ${number(state.opening.mm)} mm.`,
      x: { name: 'Current', unit: 'mA', quantity: 'current', low: 0, high: live.amplitude_ma[live.amplitude_ma.length - 1] },
      y: { name: 'Opening', unit: 'mm', quantity: 'opening', low: 0, high: high > 112 ? Math.ceil(high / 20 + 0.5) * 20 : 120 },
      lines,
      levels: width ? [{ y: width, label: `${live.object.name}, ${number(width)} mm` }] : [],
      points: [{ x: ma, y: state.opening.mm, present: true }],
    }
  }

  function told() {
    const state = stateAt(live, current()),
      a = state.angle_deg
    return [
      ['current', 'current', `${number(current(), current() % 1 ? 1 : 0)} mA`],
      ['force', 'openers called in', `${number(100 * state.recruited.openers)} %`],
      ['force', 'closers', `${number(100 * state.recruited.closers)} %`],
      ['angle', 'wrist', turned(a.wrist)],
      ['angle', 'base joint', turned(a.MCP)],
      ['angle', 'middle joint', turned(a.PIP)],
      ['opening', 'opening', state.opening.mm < 3 ? 'none' : `${number(state.opening.mm)} mm`],
    ]
  }

  function paint(how) {
    if (!alive) return
    if (!needsModel()) pass()
    const items = told(),
      words = items.map(([, name, value]) => `${name} ${value}`).join(', ')
    hand.show(stateAt(live, current()), how)
    hand.say(`Hand from the thumb side: ${words}.`)
    curve.update(curvePicture())
    thread.replaceChildren(
      ...items.map(([q, name, value]) => {
        const part = element('span'),
          b = element('b', '', value)
        b.style.color = `var(--${q}-t)`
        part.append(`${name} `, b)
        return part
      }),
    )
    reach()
    undo.disabled = !kept.length
    back.disabled = B.settings.every(s => now[s.path] === first[s.path])
  }
  // What is to be reached: once met it stays met, with the settings that met it.
  // `onsolved` hears whenever all hold at once, with less current than before; a slider on its way is waited for.
  let solvedAt = Infinity,
    solvedLater = 0
  const aims = B.goals ?? [],
    met = aims.map(() => null),
    list = element('ul', 'gwt-goals')
  if (aims.length) box.insertBefore(list, acts)
  function reach() {
    if (!aims.length || needsModel()) return
    const s = stateAt(live, current()),
      a = s.angle_deg
    const value = { current_ma: current(), opening_mm: s.opening.mm, wrist_deg: a.wrist, base_deg: a.MCP, middle_deg: a.PIP }
    const claw = a.MCP <= 0 && a.PIP > 20
    const holds = aims.map(
      aim =>
        (aim.claw === null || aim.claw === claw) &&
        Object.entries(aim.within).every(([key, [low, high]]) => value[key] >= low && value[key] <= high),
    )
    clearTimeout(solvedLater)
    if (onsolved && holds.every(Boolean) && current() < solvedAt)
      solvedLater = setTimeout(() => {
        solvedAt = current()
        onsolved({ ...now })
      }, 400)
    aims.forEach((aim, i) => {
      if (!met[i] && holds[i]) {
        met[i] = told()
          .filter(([, name]) => ['current', 'wrist', 'opening'].includes(name))
          .map(([, n, v]) => `${n} ${v}`)
          .join(', ')
        spoken.textContent = `Reached: ${met[i]}.`
        onreach?.(i, met[i])
      }
    })
    const text = JSON.stringify(met)
    if (list.dataset.met === text) return
    list.dataset.met = text
    list.replaceChildren(
      ...aims.map((aim, i) => {
        const item = element('li', met[i] ? 'met' : ''),
          words = element('span')
        words.innerHTML = aim.html
        for (const p of [...words.querySelectorAll(':scope > p')]) p.replaceWith(...p.childNodes)
        item.append(element('b', '', met[i] ? '\u2713' : '\u25cb'), words)
        item.append(element('span', 'gwt-how', met[i] ? `Met: ${met[i]}.` : 'Not yet.'))
        return item
      }),
    )
  }
  // Said only after a change by the person, and at most once a second.
  function say() {
    clearTimeout(later)
    later = setTimeout(
      () => {
        spokenAt = performance.now()
        spoken.textContent = told()
          .map(([, n, v]) => `${n} ${v}`)
          .join(', ')
      },
      Math.max(150, 1000 - (performance.now() - spokenAt)),
    )
  }

  async function pull() {
    if (asking || !ask) return
    asking = true
    while (wanted && alive) {
      const sent = wanted
      wanted = null
      box.setAttribute('aria-busy', 'true')
      try {
        const answer = await ask(sent)
        if (!alive) return
        live = settingsAtStart(sent) ? B.live : answer
        passed = live === B.live ? passedAtStart : stretch()
        shownOf = { ...sent }
        trouble.textContent = ''
        if (!wanted) paint('ease')
      } catch (error) {
        if (!alive) return
        if (!wanted) trouble.textContent = error?.message || 'No answer. The picture shows the settings of before.'
      }
    }
    asking = false
    box.removeAttribute('aria-busy')
  }
  const settingsAtStart = values => B.settings.every(s => s.path === CURRENT || values[s.path] === first[s.path])
  const needsModel = () => B.settings.some(s => s.path !== CURRENT && now[s.path] !== shownOf[s.path])

  // Where only one may differ from the start beside the current, the others go back.
  function othersBack(path) {
    const others = B.settings.filter(s => s.path !== CURRENT && s.path !== path && now[s.path] !== first[s.path])
    for (const row of rows) if (others.some(s => s.path === row.path)) row.set(first[row.path])
    return Object.fromEntries(others.map(s => [s.path, first[s.path]]))
  }
  function change(path, value) {
    if (now[path] === value) return
    now = { ...now, ...(B.single && path !== CURRENT ? othersBack(path) : {}), [path]: value }
    moved(path === CURRENT)
  }
  function moved(here, told = true) {
    if (!here || needsModel() || wanted) {
      wanted = { ...now }
      pull()
    }
    paint('at once')
    if (!told) return
    say()
    onchange?.({ ...now })
  }
  function rest() {
    if (B.settings.every(s => atRest[s.path] === now[s.path])) return
    kept.push(atRest)
    atRest = { ...now }
    paint('at once')
  }
  function to(values, told = true) {
    now = { ...values }
    atRest = { ...values }
    for (const row of rows) row.set(now[row.path])
    moved(false, told)
  }
  undo.addEventListener('click', () => {
    const v = kept.pop()
    if (v) to(v)
    undo.disabled = !kept.length
  })
  back.addEventListener('click', () => {
    kept.push({ ...now })
    to(first)
    paint('ease')
  })

  const rows = B.settings.map((s, n) => {
    const row = element('div', 'gwt-setting'),
      name = `${id}-${n}`,
      label = element('label', '', s.label),
      out = element('output')
    out.setAttribute('aria-live', 'off')
    label.htmlFor = name
    row.path = s.path
    row.style.setProperty('--qf', QUANTITY[s.path] ? `var(--${QUANTITY[s.path]}-f)` : 'var(--ink)')
    row.style.setProperty('--qt', QUANTITY[s.path] ? `var(--${QUANTITY[s.path]}-t)` : 'var(--ink)')
    if (s.choices) {
      const pick = Object.assign(element('select'), { id: name })
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
        change(s.path, s.choices[Number(pick.value)][0])
        rest()
      })
      row.append(label, pick)
      row.classList.add('choice')
    } else {
      const input = Object.assign(element('input'), { type: 'range', id: name, min: s.low, max: s.high, step: s.step })
      input.value = s.value ?? s.held_value ?? (s.low + s.high) / 2
      const free = s.free_words ? Object.assign(element('input'), { type: 'checkbox' }) : null
      out.htmlFor = name
      const show = () => {
        const v = Number(input.value),
          digits = s.path === CURRENT && !(v % 1) ? 0 : digitsFor(s.step)
        const unit = `${s.unit && s.unit !== '°' ? ' ' : ''}${s.unit ?? ''}`
        const words = free && !free.checked ? s.free_words : `${number(v, digits)}${unit}`
        out.textContent = words
        input.setAttribute('aria-valuetext', words)
        fillTrack(input)
        input.disabled = locked || Boolean(free && !free.checked)
      }
      row.set = v => {
        if (free) free.checked = v !== null
        if (v !== null) input.value = v
        show()
      }
      let due = false
      const send = () => {
        due = false
        change(s.path, free && !free.checked ? null : Number(input.value))
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
        rest()
      })
      row.append(label, out, input)
      if (free) {
        const tick = element('label', 'gwt-tick')
        tick.append(free, ` ${s.held_words}`)
        free.addEventListener('change', () => {
          show()
          send()
          rest()
        })
        row.append(tick)
      }
    }
    row.set(s.value)
    if (locked) for (const part of row.querySelectorAll('input, select')) part.disabled = true
    settings.append(row)
    return row
  })
  const redraw = () => paint('at once')
  window.addEventListener('gw-look', redraw)
  paint('at once')
  return {
    // what another hand has set, such as the educator's
    set(values) {
      to({ ...now, ...values }, false)
    },
    settings: () => ({ ...now }),
    destroy() {
      alive = false
      clearTimeout(later)
      window.removeEventListener('gw-look', redraw)
      hand.destroy()
      curve.destroy()
      box.remove()
    },
  }
}
