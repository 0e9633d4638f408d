// The scene that the educator shows to all: hand and curve only, drawn from what the server worked out once and pushed.

import { element } from './element.js'
import { number } from './numbers.js'
import { handView } from './hand/view.js'
import { linesPicture } from './plot.js'

const turned = v => (Math.abs(v) < 0.5 ? 'straight' : `${number(Math.abs(v))}\u00b0 ${v > 0 ? 'bent' : 'back'}`)
const SAID = {
  'channel.0.pads.along_percent': ['pads along', v => `${number(v)} %`],
  'channel.0.pads.around_deg': ['pads round', v => `${number(v)}\u00b0`],
  'hand.finger_tone': ['tone', v => number(v, 3)],
  'hand.flexor_length_factor': ['length of closers', v => number(v, 3)],
}

export function mirrorView(host) {
  const box = element('div', 'mirror'),
    hand = element('div', 'gwt-draw gwt-hand'),
    cell = element('div', 'gwt-cell'),
    curve = element('div', 'gwt-draw gwt-lines'),
    thread = element('p', 'gwt-thread'),
    spoken = element('p', 'vh')
  spoken.setAttribute('aria-live', 'polite')
  cell.append(curve)
  box.append(hand, cell, thread, spoken)
  host.append(box)
  const view = handView(hand, { whole: true })
  let lines = null,
    later = 0,
    high = 120

  function show({ settings, picture }) {
    if (!picture) return
    const { state, ma, mm } = picture,
      a = state.angle_deg ?? {}
    const words = [
      ['current', 'current', `${number(ma, ma % 1 ? 1 : 0)} mA`],
      ['opening', 'opening', mm < 3 ? 'none' : `${number(mm)} mm`],
    ]
    if (a.wrist !== undefined)
      words.push([
        'angle',
        settings['hand.wrist_held_deg'] === null || settings['hand.wrist_held_deg'] === undefined ? 'wrist' : 'wrist held',
        turned(a.wrist),
      ])
    for (const [path, [name, say]] of Object.entries(SAID))
      if (Number.isFinite(settings[path])) words.push(['', name, say(settings[path])])
    if (picture.state.angle_deg) view.show(state, 'at once')
    view.say(`Hand from the thumb side: ${words.map(([, n, v]) => `${n} ${v}`).join(', ')}.`)
    high = Math.max(high, Math.ceil(Math.max(...picture.curve.mm) / 20) * 20)
    const data = {
      title: 'Opening against current',
      text: `At ${number(ma)} mA the opening is ${number(mm)} mm.`,
      x: { name: 'Current', unit: 'mA', quantity: 'current', low: 0, high: picture.curve.ma.at(-1) },
      y: { name: 'Opening', unit: 'mm', quantity: 'opening', low: 0, high },
      lines: [{ label: '', x: picture.curve.ma, y: picture.curve.mm, dash: '', quantity: 'opening' }],
      points: [{ x: ma, y: mm, present: true }],
    }
    if (lines) lines.update(data)
    else lines = linesPicture(curve, data, { large: true })
    thread.replaceChildren(
      ...words.map(([q, name, value]) => {
        const part = element('span'),
          b = element('b', '', value)
        if (q) b.style.color = `var(--${q}-t)`
        part.append(`${name} `, b)
        return part
      }),
    )
    clearTimeout(later)
    later = setTimeout(() => {
      spoken.textContent = words.map(([, n, v]) => `${n} ${v}`).join(', ')
    }, 1000)
  }
  return {
    show,
    destroy() {
      clearTimeout(later)
      view.destroy()
      lines?.destroy()
      box.remove()
    },
  }
}

// Shows a mirrored scene in `host` while there is one; says whether it does.
export function mirrored(host, mirror) {
  if (!mirror?.picture) {
    host.mirror?.destroy()
    host.mirror = null
    host.hidden = true
    return false
  }
  host.hidden = false
  host.mirror ??= mirrorView(host)
  host.mirror.show(mirror)
  return true
}
