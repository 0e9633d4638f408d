// The hand as a component of the app's pages: Python sends the state, or samples of a movement to play. A finger that is touched,
// or chosen in the view from the tips, lights its own tendons up.

import { NEUTRAL_PADS } from '../given.js'
import { plain } from '../plain.js'
import { handPlayer, posture, postures } from './player.js'
import { buildScene, drawScene, fingerAt, paintSkin } from './scene.js'
import { captionLine, drawTips, layTips, noteLine, paintTips, tipsPanel } from './tips.js'
import { handPlace, motionLess } from './view.js'

const TOLD_MS = 120
const POSTURE = ['angle_deg', 'tension', 'slack_mm', 'recruited', 'current', 'opening']
const LOOK = [
  'pads',
  'bench',
  'object',
  'wrist_held',
  'side',
  'skin',
  'label',
  'angles',
  'tips',
  'fingers',
  'lit',
  'kept',
  'forearm',
  'rests',
  'upper',
  'caption',
]

// Which finger lies under the pointer, or none.
function fingerUnder(svg, event, shape, view) {
  const box = svg.getBoundingClientRect(),
    v = svg.viewBox.baseVal,
    k = Math.min(box.width / v.width, box.height / v.height)
  const x = (event.clientX - box.left - (box.width - k * v.width) / 2) / k + v.x
  const y = (event.clientY - box.top - (box.height - k * v.height) / 2) / k + v.y
  return fingerAt(shape, view.side === 'right' ? -x : x, view.forearm === 'supinated' ? y : -y)
}

// What does not move: what Python sent, and what the page's reader chose where a value says "page".
function lookOf(model, host, touched) {
  const pads = plain(model.pads),
    root = document.documentElement
  const chosen = (value, key, other) => (value === 'page' ? (root.dataset[key] ?? other) : value)
  return {
    pads: pads?.length === 2 ? pads : NEUTRAL_PADS,
    object: plain(model.object),
    bench: plain(model.bench),
    held: model.wrist_held,
    angles: Boolean(model.angles),
    side: chosen(model.side, 'side', 'left'),
    tone: chosen(model.skin, 'skin', 'clay'),
    dark: root.dataset.theme === 'dark',
    width: host.clientWidth || 648,
    height: host.clientHeight || 434,
    forearm: model.forearm || 'pronated',
    rests: Boolean(model.rests),
    upper: plain(model.upper) ?? null,
    tips: Boolean(model.tips),
    touched,
    lit: model.lit || '',
    kept: plain(model.kept) ?? null,
    fingers: plain(model.fingers) ?? {},
  }
}

export function render({ model, el }) {
  el.style.width ||= '100%'
  const place = handPlace(el, {
      resized: () => {
        view = look()
        lay()
        player.draw()
      },
      relooked: () => repaint(),
    }),
    host = place.box
  Object.assign(host.style, { minHeight: '120px', position: 'relative' })
  const nodes = buildScene(host)
  const target = () => posture(Object.fromEntries(POSTURE.map(k => [k, plain(model[k])])), null)
  let waiting = false,
    touched = '',
    shape = null,
    toldAt = 0
  const touch = name => {
    touched = name === touched ? '' : name
    repaint()
  }
  const panel = tipsPanel(host, touch),
    note = noteLine(host),
    caption = captionLine(host)
  const look = () => lookOf(model, host, touched)
  let view = look()
  const player = handPlayer({
    still: motionLess,
    outline: nodes.before,
    paint(shown, moving) {
      shape = drawScene(nodes, shown, view, moving)
      if (view.tips) drawTips(panel.tips, shape, view.object, shown.opening?.mm, view.side, touched)
    },
  })
  const lay = () => {
    layTips(panel, view.width, view.height, view.tips)
    const o = view.object,
      mm = target().opening?.mm
    panel.said.textContent = !o
      ? ''
      : `${o.name} ${Math.round(o.diameter_mm)} mm: ${mm >= o.diameter_mm - 0.5 ? 'fits' : 'too wide'}`
    panel.tips.svg.setAttribute('aria-label', `Thumb and fingers from the finger tips. ${panel.said.textContent}`)
  }
  const repaint = () => {
    view = look()
    paintSkin(nodes, view.tone, view.dark)
    paintTips(panel.tips, view.tone, view.dark)
    nodes.svg.setAttribute('aria-label', model.label)
    lay()
    panel.buttons.forEach(b => b.setAttribute('aria-pressed', String(b.textContent === touched)))
    caption.say(model.caption || '', view)
    note.say(touched && view.fingers[touched] ? `${touched} finger: ${view.fingers[touched]}` : '', view)
    player.draw()
  }
  // Several parameters change in one update: look at them together, once.
  const later = () => {
    if (waiting) return
    waiting = true
    queueMicrotask(() => {
      waiting = false
      player.ease(target())
    })
  }
  for (const k of POSTURE) model.on(k, later)
  for (const k of LOOK) model.on(k, repaint)
  model.on('msg:custom', message => {
    const m = plain(message)
    if (m?.type === 'stop') {
      player.stop()
      player.ease(target())
      return
    }
    if (m?.type === 'pause') {
      player.hold()
      return
    }
    if (m?.type === 'resume') {
      player.resume()
      return
    }
    if (m?.type !== 'play' || !m.frames?.length) return
    const frames = postures(typeof m.frames === 'string' ? JSON.parse(m.frames) : m.frames, player.shown)
    if (motionLess()) {
      player.jump(frames[frames.length - 1].posture)
      return
    }
    // A new list replaces the rest of the old one and starts where the hand is now.
    if (frames[0].t_ms > 0) frames.unshift({ t_ms: 0, posture: player.shown })
    // Where it has come to is told some times a second: other views follow it.
    player.play(frames, {
      told(t, ended) {
        const now = performance.now()
        if (ended || now - toldAt > TOLD_MS) {
          toldAt = now
          model.played_ms = ended ? -1 : Math.round(t)
        }
      },
    })
  })
  const under = event => fingerUnder(nodes.svg, event, shape, view)
  nodes.svg.addEventListener('click', event => {
    const name = under(event)
    if (name || touched) touch(name)
  })
  nodes.svg.addEventListener('pointermove', event => {
    nodes.svg.style.cursor = event.pointerType === 'mouse' && !player.moving && under(event) ? 'pointer' : ''
  })
  player.set(target())
  repaint()
  model.on('remove', () => {
    player.destroy()
    place.destroy()
  })
}
