// The hand as a component of the app's pages: Python sends the state, or samples of a movement to play. A finger that is touched,
// or chosen in the view from the tips, lights its own tendons up.

import { NEUTRAL_PADS } from '../given.js'
import { plain } from '../plain.js'
import { handPlayer, posture, postures } from './player.js'
import { buildScene } from './build.js'
import { captionLine, captionOf, drawTips, layTips, noteLine, paintTips, tipsPanel } from './tips.js'
import { handPlace, motionLess } from './view.js'
import { drawScene, fingerAt, paintSkin } from './scene.js'

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
    buttons: !model.bench,
    caption: captionOf(model.caption || '', host.clientWidth),
  }
}

export function render({ model, el }) {
  const view = { model }
  el.style.width ||= '100%'
  const place = handPlace(el, {
      resized: () => {
        view.view = view.look()
        view.lay()
        view.player.draw()
      },
      relooked: () => repaint(view),
    }),
    host = place.box
  Object.assign(host.style, { minHeight: '120px', position: 'relative' })
  view.nodes = buildScene(host)

  view.waiting = false
  view.touched = ''
  let shape = null
  view.toldAt = 0

  view.panel = tipsPanel(host, name => touch(view, name))
  view.note = noteLine(host)
  view.caption = captionLine(host)
  view.look = () => lookOf(view.model, host, view.touched)
  view.view = view.look()
  view.player = handPlayer({
    still: motionLess,
    outline: view.nodes.before,
    paint(shown, moving) {
      shape = drawScene(view.nodes, shown, view.view, moving)
      if (!view.view.tips) return
      drawTips(view.panel.tips, shape, view.view.object, shown.opening?.mm, view.view.side, view.touched)
      tellTips(view, shown.opening?.mm)
    },
  })
  view.lay = () => {
    layTips(view.panel, view.view)
    tellTips(view, view.player.shown?.opening?.mm ?? target(view).opening?.mm)
  }

  for (const k of POSTURE) view.model.on(k, () => later(view))
  for (const k of LOOK) view.model.on(k, () => repaint(view))
  listenToPython(view)
  const under = event => fingerUnder(view.nodes.svg, event, shape, view.view)
  view.nodes.svg.addEventListener('click', event => {
    const name = under(event)
    if (name || view.touched) touch(view, name)
  })
  view.nodes.svg.addEventListener('pointermove', event => {
    view.nodes.svg.style.cursor = event.pointerType === 'mouse' && !view.player.moving && under(event) ? 'pointer' : ''
  })
  view.player.set(target(view))
  repaint(view)
  view.model.on('remove', () => {
    view.player.destroy()
    place.destroy()
  })
}

function listenToPython(view) {
  view.model.on('msg:custom', message => {
    const m = plain(message)
    if (m?.type === 'stop') {
      view.player.stop()
      view.player.ease(target(view))
      return
    }
    if (m?.type === 'pause') {
      view.player.hold()
      return
    }
    if (m?.type === 'resume') {
      view.player.resume()
      return
    }
    if (m?.type !== 'play' || !m.frames?.length) return
    const frames = postures(typeof m.frames === 'string' ? JSON.parse(m.frames) : m.frames, view.player.shown)
    if (motionLess()) {
      view.player.jump(frames[frames.length - 1].posture)
      return
    }
    // A new list replaces the rest of the old one and starts where the hand is now.
    if (frames[0].t_ms > 0) frames.unshift({ t_ms: 0, posture: view.player.shown })
    // Where it has come to is told some times a second: other views follow it.
    view.player.play(frames, {
      told(t, ended) {
        const now = performance.now()
        if (ended || now - view.toldAt > TOLD_MS) {
          view.toldAt = now
          view.model.played_ms = ended ? -1 : Math.round(t)
        }
      },
    })
  })
}

// Whether the opening that is shown now is wide enough.
function tellTips(view, mm) {
  const o = view.view.object,
    words = !o ? '' : `${o.name} ${Math.round(o.diameter_mm)} mm: ${mm >= o.diameter_mm - 0.5 ? 'fits' : 'too wide'}`
  if (view.tipsSaid === words) return
  view.tipsSaid = words
  view.panel.said.textContent = words
  view.panel.tips.svg.setAttribute('aria-label', `Thumb and fingers from the finger tips. ${words}`)
}

function target(view) {
  return posture(Object.fromEntries(POSTURE.map(k => [k, plain(view.model[k])])), null)
}

function touch(view, name) {
  view.touched = name === view.touched ? '' : name
  repaint(view)
}

function repaint(view) {
  view.view = view.look()
  paintSkin(view.nodes, view.view.tone, view.view.dark)
  paintTips(view.panel.tips, view.view.tone, view.view.dark)
  view.nodes.svg.setAttribute('aria-label', view.model.label)
  view.lay()
  view.panel.buttons.forEach(b => b.setAttribute('aria-pressed', String(b.textContent === view.touched)))
  view.caption.say(view.model.caption || '', view.view)
  view.note.say(
    view.touched && view.view.fingers[view.touched] ? `${view.touched} finger: ${view.view.fingers[view.touched]}` : '',
    view.view,
  )
  view.player.draw()
}

function later(view) {
  if (view.waiting) return
  view.waiting = true
  queueMicrotask(() => {
    view.waiting = false
    view.player.ease(target(view))
  })
}
