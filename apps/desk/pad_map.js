// The forearm's skin unrolled, in mm: elbow left, the thumb side is the upper and the lower edge, and the little-finger
// side the middle line. The pads are dragged as a pair, or moved by keys.

import { element } from '../web/element.js'
import { plain } from '../web/plain.js'
import { make } from '../web/svg.js'

const clamp = (v, [low, high]) => Math.min(high, Math.max(low, v))
const round = (v, n = 1) => Math.round(v * 10 ** n) / 10 ** n
const FAULTS = { halved: ', far pad half off', lifted: ', far pad lifted', dried: ', far pad dry' }
let made = 0

export function render({ model }) {
  const view = { model }
  view.id = `gwp-${++made}`
  const box = element('div', 'gw gwp')
  box.innerHTML = `<div class="gwp-two"><svg class="map" role="group"></svg><div class="side"><svg class="cut" role="group"></svg>
    <p>+ and −: sign of the first phase. Filled: opens. Dashed ring: closes. The fuller, the more of it answers. A right arm; a left one is its mirror image. Blue in the cut: how the field fades in even tissue.</p></div></div>`
  view.meaning = element('p', 'meaning')
  view.meaning.setAttribute('role', 'status')
  view.meaning.hidden = true
  box.querySelector('.gwp-two').insertBefore(view.meaning, box.querySelector('.side'))
  ;[view.map, view.cut] = box.querySelectorAll('svg')

  // ---- state: `at` leads, and what comes back from a move that a newer one has passed is not taken
  view.pads = plain(view.model.pads)
  view.n = view.pads.n ?? 0
  view.at = { along_percent: view.pads.along_percent, around_deg: view.pads.around_deg, spacing_mm: view.pads.spacing_mm }
  view.arm = plain(view.model.arm)
  view.limits = plain(view.model.limits)
  view.due = false
  view.drag = null

  layOutMap(view)

  view.unit = 1

  layOutCut(view)
  view.arcs = () => {
    const r = radius(view, middle(view)),
      open = view.pads.side_mm / 2 / r,
      a = (view.at.around_deg * Math.PI) / 180,
      out = r + 2.2 * view.cutUnit
    const p = t => `${round(out * Math.sin(t), 2)} ${round(-out * Math.cos(t), 2)}`
    put(view.arc, {
      d: view.pads.shown === false ? '' : `M${p(a - open)}A${out} ${out} 0 ${open > Math.PI / 2 ? 1 : 0} 1 ${p(a + open)}`,
    })
  }

  // what comes in one message is drawn once
  view.toDraw = false

  view.start = gap => e => {
    if (e.button > 0) return
    const [x, y] = point(view, e)
    view.drag = { gap: gap || e.shiftKey, x, y, ...view.at }
    e.currentTarget.setPointerCapture(e.pointerId)
    e.currentTarget.focus({ preventScroll: true })
    e.preventDefault()
  }

  listen(view)

  view.pair.addEventListener('keydown', keys(view, false))
  view.grip.addEventListener('keydown', keys(view, true))

  fromPython(view)
  new ResizeObserver(() => measure(view)).observe(box)
  draw(view)
  return box
}

function put(node, at) {
  for (const k in at) if (node.getAttribute(k) !== String(at[k])) node.setAttribute(k, at[k])
}

function radius(view, x) {
  return view.arm.elbow_mm + (view.arm.wrist_mm - view.arm.elbow_mm) * clamp((x / view.arm.length_mm - 0.2) / 0.8, [0, 1])
}

function turn(deg) {
  return (((deg + 90) % 360) + 360) % 360
}

function height(view, x, deg) {
  return (turn(deg) / 360 - 0.5) * 2 * Math.PI * radius(view, x)
}

function middle(view) {
  return (view.at.along_percent / 100) * view.arm.length_mm
}

function wrap(deg) {
  return ((((deg + 180) % 360) + 360) % 360) - 180
}

function send(view) {
  view.due = false
  view.model.move = { ...view.at, n: view.n }
}

function set(view, change) {
  const next = { ...view.at, ...change }
  if ('around_deg' in change) next.around_deg = wrap(next.around_deg)
  for (const k in next) next[k] = round(clamp(next[k], view.limits[k]), 1)
  if (Object.keys(next).every(k => next[k] === view.at[k])) return
  view.at = next
  view.n += 1
  place(view)
  if (!view.due) {
    view.due = true
    requestAnimationFrame(() => send(view))
  }
}

function outline(view) {
  const xs = [0, 0.2 * view.arm.length_mm, view.arm.length_mm]
  const edge = s => xs.map(x => `${round(x)} ${round(s * Math.PI * radius(view, x))}`)
  return `M${edge(-1).join('L')}L${edge(1).reverse().join('L')}Z`
}

function place(view) {
  const x = middle(view),
    half = view.pads.side_mm / 2,
    apart = (view.at.spacing_mm + view.pads.side_mm) / 2
  const y = height(view, x, view.at.around_deg),
    round360 = 2 * Math.PI * radius(view, x)
  for (const c of view.copies) {
    const px = x + (c.name === 'near' ? -1 : 1) * apart,
      py = y + c.side * round360
    put(c.pad, { x: px - half, y: py - half, width: 2 * half, height: 2 * half, rx: view.pads.round ? half : 3 })
    const inner = Math.max(1, half - 2.5)
    put(c.gel, { x: px - inner, y: py - inner, width: 2 * inner, height: 2 * inner, rx: view.pads.round ? inner : 2 })
    // What does not touch is crossed out: half of the pad, all but a corner, all but spots.
    const spots = [-0.55, 0, 0.55].flatMap(u => [-0.55, 0, 0.55].map(v => [u, v]))
    const hatch = (from, to) =>
      Array.from({ length: 5 }, (_, k) => px - half + 2 * half * (from + ((to - from) * (k + 0.5)) / 5))
        .map(at => `M${round(at, 2)} ${round(py - 0.85 * half, 2)}l${round(-0.18 * half, 2)} ${round(1.7 * half, 2)}`)
        .join('')
    const fault = c.name === 'far' ? view.pads.contact : 'whole'
    put(c.off, {
      d:
        fault === 'halved'
          ? hatch(0.5, 1)
          : fault === 'lifted'
            ? hatch(0.22, 1)
            : fault === 'dried'
              ? spots.map(([u, v]) => `M${round(px + u * half, 2)} ${round(py + v * half, 2)}h.01`).join('')
              : '',
      class: fault === 'dried' ? 'off spots' : 'off',
    })
    put(c.gel, { 'fill-opacity': fault === 'whole' ? 0.22 : 0.08 })
    c.sign.textContent = (c.name === 'near') === !view.pads.swap ? '+' : '\u2212'
    put(c.sign, {
      x: px - half + (view.pads.round ? 0.5 : 0) * half + 4 * view.unit,
      y: py + half - (view.pads.round ? 0.3 * half : 0) - 4 * view.unit,
    })
    const reach = Math.max(half, 22 * view.unit)
    put(c.hit, { x: px - reach, y: py - reach, width: 2 * reach, height: 2 * reach })
    const roomy = half > 17 * view.unit && !view.pads.round
    put(c.text, {
      x: roomy ? px - half + 4 * view.unit : px,
      y: py - half + (roomy ? 14 : -4) * view.unit,
      'text-anchor': roomy ? 'start' : 'middle',
    })
  }
  for (const b of view.bars) {
    // held inside the picture, so that a pad past the wrist can be drawn back
    const px = Math.min(x + apart + half, view.arm.length_mm - 5 * view.unit),
      py = y + b.side * round360
    put(b.bar, { x: px - 3.5 * view.unit, y: py - 11 * view.unit, width: 7 * view.unit, height: 22 * view.unit })
    put(b.hit, { x: px - 11 * view.unit, y: py - 22 * view.unit, width: 30 * view.unit, height: 44 * view.unit })
  }
  const deg = Math.round(view.at.around_deg)
  const side =
    deg === 0 ? 'on the middle of the back' : `${Math.abs(deg)} degrees round towards the ${deg > 0 ? 'little finger' : 'thumb'}`
  put(view.pair, {
    'aria-valuemin': view.limits.along_percent[0],
    'aria-valuemax': view.limits.along_percent[1],
    'aria-valuenow': view.at.along_percent,
    'aria-valuetext': `${Math.round(view.at.along_percent)} % from elbow to wrist, ${side}, gap ${Math.round(view.at.spacing_mm)} mm${FAULTS[view.pads.contact] ?? ''}${view.pads.swap ? ', leads swapped' : ''}`,
    'aria-description': 'Arrow keys move 5 millimetres, with Shift 1. Plus and minus change the gap.',
  })
  put(view.grip, {
    'aria-valuemin': view.limits.spacing_mm[0],
    'aria-valuemax': view.limits.spacing_mm[1],
    'aria-valuenow': view.at.spacing_mm,
    'aria-valuetext': `${Math.round(view.at.spacing_mm)} mm edge to edge`,
  })
  view.arcs()
}

// A muscle's letters say what it is when they are tapped, or chosen by key; the same again, or Escape, and it goes.
function means(view, text, m) {
  put(text, { class: 'on word', tabindex: 0, role: 'button', 'aria-label': `${m.name}: what it is` })
  const say = () => {
    const words = `${m.name}: ${m.words}. Now ${Math.round(100 * m.share)} % of its nerve fibres are woken.`
    view.meaning.hidden = !view.meaning.hidden && view.meaning.dataset.of === m.name
    view.meaning.dataset.of = m.name
    view.meaning.textContent = words
  }
  text.addEventListener('click', say)
  text.addEventListener('keydown', event => {
    if (event.key === 'Enter' || event.key === ' ') {
      event.preventDefault()
      say()
    } else if (event.key === 'Escape') view.meaning.hidden = true
    else return
    event.stopPropagation()
  })
}

function drawMap(view) {
  const tall = Math.PI * view.arm.elbow_mm,
    pad = 17 * view.unit
  put(view.map, {
    viewBox: `-4 ${round(-tall - 4)} ${view.arm.length_mm + 8} ${round(2 * tall + 4 + pad)}`,
    'aria-label': view.model.spoken,
  })
  put(view.skin, { d: outline(view) })
  put(view.clipPath, { d: outline(view) })
  const lines = []
  for (let x = 50; x < view.arm.length_mm; x += 50) lines.push([x, -Math.PI * radius(view, x), x, Math.PI * radius(view, x)])
  view.grid.replaceChildren()
  for (const [x1, y1, x2, y2] of lines) make(view.grid, 'line', { class: 'grid', x1, y1, x2, y2 })
  make(view.grid, 'line', { class: 'grid mid', x1: 0, y1: 0, x2: view.arm.length_mm, y2: 0 })
  view.said.replaceChildren()
  const end = view.arm.length_mm - 4,
    wrist = Math.PI * view.arm.wrist_mm
  view.say(
    view.arm.length_mm + 2,
    -Math.PI * radius(view, view.arm.length_mm - 70 * view.unit) - 4 * view.unit,
    'thumb side',
    'end',
  )
  view.say(end, -wrist + 17 * view.unit, 'back', 'end', 'on')
  view.say(end, wrist - 9 * view.unit, 'palm side', 'end', 'on')
  view.say(end, 4 * view.unit, 'little-finger side', 'end', 'on')
  view.say(0, tall + 13 * view.unit, 'elbow', 'start')
  view.say(view.arm.length_mm, tall + 13 * view.unit, 'wrist', 'end')
  view.say(view.arm.length_mm / 2, tall + 13 * view.unit, 'a line every 5 cm', 'middle')
  view.spots.replaceChildren()
  const taken = []
  for (const m of plain(view.model.muscles)) {
    const x = (m.along_percent / 100) * view.arm.length_mm,
      y = height(view, x, m.around_deg)
    spot(view.spots, m, x, y, view.arm.spread_mm, 0.55 * view.arm.spread_mm, 1)
    if (m.named) {
      // beside its spot where that is free, else on the other side of it, else lower
      const wide = (8.6 * m.name.length + 2) * view.unit,
        right = x + view.arm.spread_mm + 3 * view.unit,
        left = x - view.arm.spread_mm - 3 * view.unit - wide,
        low = y + 4 * view.unit
      const free = [
        [right, low],
        [left, low],
        [right, low + 13 * view.unit],
        [left, low + 13 * view.unit],
      ].find(([a, b]) => !taken.some(([c, d, w]) => a < c + w && c < a + wide && Math.abs(b - d) < 12 * view.unit)) ?? [
        right,
        low,
      ]
      taken.push([...free, wide])
      const t = make(view.spots, 'text', { class: 'on', x: free[0], y: free[1] })
      t.textContent = m.name
      means(view, t, m)
    }
  }
  view.pair.style.display = view.grip.style.display = view.pads.shown === false ? 'none' : ''
}

function spot(parent, m, cx, cy, rx, ry, opacity) {
  if (!m.closer)
    return make(parent, 'ellipse', { class: 'opener', cx, cy, rx, ry, opacity, 'fill-opacity': 0.45 + 0.55 * m.share })
  // the dashes stand on a plain ring, so that they are seen on every tone of skin
  make(parent, 'ellipse', { class: 'halo', cx, cy, rx, ry, opacity })
  make(parent, 'ellipse', { class: 'closer', cx, cy, rx, ry, opacity })
  if (m.share > 0.02)
    make(parent, 'ellipse', {
      class: 'opener',
      cx,
      cy,
      rx: 0.62 * rx,
      ry: 0.62 * ry,
      'fill-opacity': m.share,
      'stroke-opacity': 0,
      opacity,
    })
}

// scale of the picture: the widest place
function R(view) {
  return view.arm.elbow_mm
}

function drawCut(view) {
  const r = radius(view, middle(view)),
    room = R(view) + 20 * view.cutUnit
  put(view.cut, {
    viewBox: `${-room - 12 * view.cutUnit} ${-room} ${2 * room + 24 * view.cutUnit} ${2 * room + 6 * view.cutUnit}`,
    'aria-label': 'Cut through the forearm half-way between the pads. Blue: where the current runs, as in even tissue.',
  })
  put(view.fat, { r })
  put(view.flesh, { r: Math.max(1, r - view.arm.fat_mm) })
  put(view.cutRound, { r })
  const field = plain(view.model.field),
    k = Math.round(Math.sqrt(field.length))
  if (view.shade.childElementCount !== field.length) {
    view.shade.replaceChildren()
    field.forEach(() => make(view.shade, 'rect', { class: 'cell' }))
  }
  const w = (2 * r) / (k || 1)
  field.forEach((v, i) =>
    put(view.shade.children[i], {
      x: round(-r + (i % k) * w, 2),
      y: round(-r + Math.floor(i / k) * w, 2),
      width: w,
      height: w,
      'fill-opacity': round(0.8 * v, 2),
    }),
  )
  view.inside.replaceChildren()
  const named = []
  for (const m of plain(view.model.muscles)) {
    const far = Math.abs((m.along_percent / 100) * view.arm.length_mm - middle(view))
    if (far > 60) continue
    const out = r - view.arm.fat_mm + view.arm.included_mm - m.depth_mm,
      t = (m.around_deg * Math.PI) / 180
    const near = far < 25 ? 1 : 0.5,
      cx = out * Math.sin(t),
      cy = -out * Math.cos(t)
    spot(view.inside, m, cx, cy, 4 * view.cutUnit, 4 * view.cutUnit, near)
    if (m.named && far < 45) named.push([far, m.name, cx, cy, near, m])
  }
  // the nearest to the cut are named first; a name that would lie on another is left out
  const taken = []
  for (const [, name, cx, cy, near, m] of named.sort((a, b) => a[0] - b[0])) {
    const x = cx + 6 * view.cutUnit,
      y = cy + 4 * view.cutUnit
    if (taken.some(([a, b]) => Math.abs(a - x) < 38 * view.cutUnit && Math.abs(b - y) < 13 * view.cutUnit)) continue
    taken.push([x, y])
    const t = make(view.inside, 'text', { class: 'on', x, y, opacity: near === 1 ? 1 : 0.8 })
    t.textContent = name
    means(view, t, m)
  }
  view.cutWords.replaceChildren()
  const tell = (x, y, text, anchor) => {
    const t = make(view.cutWords, 'text', { class: 'quiet', x, y, 'text-anchor': anchor })
    t.textContent = text
  }
  tell(0, -R(view) - 8 * view.cutUnit, 'back', 'middle')
  tell(0, R(view) + 17 * view.cutUnit, 'palm side', 'middle')
  tell(-room - 10 * view.cutUnit, R(view) + 3 * view.cutUnit, 'thumb', 'start')
  tell(room + 10 * view.cutUnit, R(view) + 3 * view.cutUnit, 'little finger', 'end')
  view.arcs()
}

function measure(view) {
  const wide = view.map.clientWidth,
    small = view.cut.clientWidth
  if (!wide || !small) return
  view.unit = (view.arm.length_mm + 8) / wide
  view.cutUnit = (2 * R(view)) / Math.max(40, small - 64)
  view.map.style.setProperty('--u', view.unit)
  view.cut.style.setProperty('--u', view.cutUnit)
  draw(view)
}

function draw(view) {
  if (!Number.isFinite(view.arm.length_mm)) return
  drawMap(view)
  drawCut(view)
  place(view)
}

function drawSoon(view) {
  if (!view.toDraw) {
    view.toDraw = true
    requestAnimationFrame(() => {
      view.toDraw = false
      draw(view)
    })
  }
}

function point(view, e) {
  const p = new DOMPoint(e.clientX, e.clientY).matrixTransform(view.map.getScreenCTM().inverse())
  return [p.x, p.y]
}

function go(view, e) {
  if (!view.drag) return
  const [x, y] = point(view, e)
  // the pair's middle stays, so that the gap grows by twice the way of one pad
  if (view.drag.gap) set(view, { spacing_mm: Math.round(view.drag.spacing_mm + 2 * (x - view.drag.x)) })
  else
    set(view, {
      along_percent: view.drag.along_percent + (100 * (x - view.drag.x)) / view.arm.length_mm,
      around_deg: Math.round(view.drag.around_deg + (180 * (y - view.drag.y)) / (Math.PI * radius(view, middle(view)))),
    })
}

function stop(view) {
  if (view.drag) {
    view.drag = null
    view.model.rests += 1
  }
}

function keys(view, gap) {
  return e => {
    if (e.ctrlKey || e.metaKey || e.altKey) return
    const mm = e.shiftKey ? 1 : 5
    const along = (100 * mm) / view.arm.length_mm,
      deg = (180 * mm) / (Math.PI * radius(view, middle(view)))
    const wider = { spacing_mm: view.at.spacing_mm + mm },
      closer = { spacing_mm: view.at.spacing_mm - mm }
    const change = gap
      ? { ArrowRight: wider, ArrowUp: wider, ArrowLeft: closer, ArrowDown: closer }[e.key]
      : {
          ArrowRight: { along_percent: view.at.along_percent + along },
          ArrowLeft: { along_percent: view.at.along_percent - along },
          ArrowUp: { around_deg: view.at.around_deg - deg },
          ArrowDown: { around_deg: view.at.around_deg + deg },
        }[e.key]
    // plus is typed with Shift on many keyboards
    const step = { '+': 5, '=': 5, '-': -5, _: -5 }[e.key]
    if (!change && !step) return
    e.preventDefault()
    e.stopPropagation()
    set(view, change ?? { spacing_mm: view.at.spacing_mm + step })
  }
}

// ---- the map, once; its parts are moved afterwards
function layOutMap(view) {
  const clip = make(make(view.map, 'defs'), 'clipPath', { id: `${view.id}-c` })
  view.clipPath = make(clip, 'path')
  view.skin = make(view.map, 'path', { class: 'skin' })
  view.grid = make(view.map, 'g', { class: 'through' })
  const onSkin = make(view.map, 'g', { 'clip-path': `url(#${view.id}-c)` })
  view.pair = make(onSkin, 'g', { class: 'pair', tabindex: 0, role: 'slider', 'aria-label': 'Pads on the forearm' })
  view.grip = make(onSkin, 'g', { class: 'grip', tabindex: 0, role: 'slider', 'aria-label': 'Gap between the pads' })
  view.spots = make(view.map, 'g', { class: 'through' })
  const words = make(view.map, 'g', { class: 'through' })
  view.said = make(words, 'g')
  view.say = (x, y, text, anchor, cls = 'quiet') => {
    const t = make(view.said, 'text', { class: cls, x, y, 'text-anchor': anchor })
    t.textContent = text
  }

  // A pad that crosses the thumb side comes back at the other edge: each is drawn three times, a turn apart.
  view.copies = [-1, 0, 1].flatMap(side =>
    ['near', 'far'].map(name => ({
      side,
      name,
      pad: make(view.pair, 'rect', { class: 'pad', rx: 3 }),
      gel: make(view.pair, 'rect', { class: 'gel', rx: 2 }),
      hit: make(view.pair, 'rect', { class: 'hit' }),
      text: make(view.pair, 'text', { class: 'padname' }),
      off: make(view.pair, 'path', { class: 'off' }),
      sign: make(view.pair, 'text', { class: 'padname' }),
    })),
  )
  for (const c of view.copies) c.text.textContent = c.name
  view.bars = [-1, 0, 1].map(side => ({
    side,
    bar: make(view.grip, 'rect', { class: 'bar', rx: 2 }),
    hit: make(view.grip, 'rect', { class: 'hit' }),
  }))
}

// ---- the cut through the arm half-way between the pads, back above, seen from the elbow
function layOutCut(view) {
  const cutClip = make(make(view.cut, 'defs'), 'clipPath', { id: `${view.id}-r` })
  view.cutRound = make(cutClip, 'circle')
  const blur = make(view.cut.querySelector('defs'), 'filter', { id: `${view.id}-b` })
  make(blur, 'feGaussianBlur', { stdDeviation: 1.4 })
  view.fat = make(view.cut, 'circle', { class: 'fat' })
  view.flesh = make(view.cut, 'circle', { class: 'flesh' })
  view.shade = make(make(view.cut, 'g', { 'clip-path': `url(#${view.id}-r)` }), 'g', { filter: `url(#${view.id}-b)` })
  view.arc = make(view.cut, 'path', { class: 'gelarc' })
  view.inside = make(view.cut, 'g')
  view.cutWords = make(view.cut, 'g')
  view.cutUnit = 1
}

function listen(view) {
  for (const [node, gap] of [
    [view.pair, false],
    [view.grip, true],
  ]) {
    node.addEventListener('pointerdown', view.start(gap))
    node.addEventListener('pointermove', e => go(view, e))
    for (const end of ['pointerup', 'pointercancel', 'lostpointercapture']) node.addEventListener(end, () => stop(view))
  }
}

// ---- from Python
function fromPython(view) {
  view.model.on('pads', () => {
    const given = plain(view.model.pads)
    view.pads = { ...given, n: view.pads.n }
    if ((given.n ?? 0) >= view.n && !view.drag) {
      view.n = given.n ?? view.n
      view.at = { along_percent: given.along_percent, around_deg: given.around_deg, spacing_mm: given.spacing_mm }
    }
    drawSoon(view)
  })
  for (const p of ['muscles', 'field', 'spoken']) view.model.on(p, () => drawSoon(view))
  view.model.on('arm', () => {
    view.arm = plain(view.model.arm)
    measure(view)
  })
  view.model.on('limits', () => {
    view.limits = plain(view.model.limits)
  })
}
