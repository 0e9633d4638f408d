// The forearm's skin unrolled, in mm: elbow left, the thumb side is the upper and the lower edge, and the little-finger
// side the middle line. The pads are dragged as a pair, or moved by keys.
const SVG = 'http://www.w3.org/2000/svg'
const plain = v =>
  v instanceof Map ? Object.fromEntries([...v].map(([k, w]) => [k, plain(w)])) : Array.isArray(v) ? v.map(plain) : v
const clamp = (v, [low, high]) => Math.min(high, Math.max(low, v))
const round = (v, n = 1) => Math.round(v * 10 ** n) / 10 ** n
const FAULTS = { halved: ', far pad half off', lifted: ', far pad lifted', dried: ', far pad dry' }
let made = 0

export function render({ model }) {
  const id = `gwp-${++made}`
  const box = document.createElement('div')
  box.className = 'gw gwp'
  box.innerHTML = `<div class="gwp-two"><svg class="map" role="group"></svg><div class="side"><svg class="cut" role="img"></svg>
    <p>+ and −: sign of the first phase. Filled: opens. Dashed ring: closes. The fuller, the more of it answers. A right arm; a left one is its mirror image. Blue in the cut: how the field fades in even tissue.</p></div></div>`
  const [map, cut] = box.querySelectorAll('svg')
  const make = (parent, tag, cls, at = {}) => {
    const node = document.createElementNS(SVG, tag)
    if (cls) node.setAttribute('class', cls)
    put(node, at)
    parent.append(node)
    return node
  }
  const put = (node, at) => {
    for (const k in at) if (node.getAttribute(k) !== String(at[k])) node.setAttribute(k, at[k])
  }

  // ---- state: `at` leads, and what comes back from a move that a newer one has passed is not taken
  let pads = plain(model.pads),
    n = pads.n ?? 0
  let at = { along_percent: pads.along_percent, around_deg: pads.around_deg, spacing_mm: pads.spacing_mm }
  let arm = plain(model.arm),
    limits = plain(model.limits),
    due = false,
    drag = null

  const radius = x => arm.elbow_mm + (arm.wrist_mm - arm.elbow_mm) * clamp((x / arm.length_mm - 0.2) / 0.8, [0, 1])
  const turn = deg => (((deg + 90) % 360) + 360) % 360
  const height = (x, deg) => (turn(deg) / 360 - 0.5) * 2 * Math.PI * radius(x)
  const middle = () => (at.along_percent / 100) * arm.length_mm
  const wrap = deg => ((((deg + 180) % 360) + 360) % 360) - 180

  const send = () => {
    due = false
    model.move = { ...at, n }
  }
  const set = change => {
    const next = { ...at, ...change }
    if ('around_deg' in change) next.around_deg = wrap(next.around_deg)
    for (const k in next) next[k] = round(clamp(next[k], limits[k]), 1)
    if (Object.keys(next).every(k => next[k] === at[k])) return
    at = next
    n += 1
    place()
    if (!due) {
      due = true
      requestAnimationFrame(send)
    }
  }

  // ---- the map, once; its parts are moved afterwards
  const clip = make(make(map, 'defs'), 'clipPath', '', { id: `${id}-c` })
  const clipPath = make(clip, 'path')
  const skin = make(map, 'path', 'skin')
  const grid = make(map, 'g', 'through')
  const onSkin = make(map, 'g', '', { 'clip-path': `url(#${id}-c)` })
  const pair = make(onSkin, 'g', 'pair', { tabindex: 0, role: 'slider', 'aria-label': 'Pads on the forearm' })
  const grip = make(onSkin, 'g', 'grip', { tabindex: 0, role: 'slider', 'aria-label': 'Gap between the pads' })
  const spots = make(map, 'g', 'through')
  const words = make(map, 'g', 'through')
  const said = make(words, 'g')
  const say = (x, y, text, anchor, cls = 'quiet') => {
    const t = make(said, 'text', cls, { x, y, 'text-anchor': anchor })
    t.textContent = text
  }

  // A pad that crosses the thumb side comes back at the other edge: each is drawn three times, a turn apart.
  const copies = [-1, 0, 1].flatMap(side =>
    ['near', 'far'].map(name => ({
      side,
      name,
      pad: make(pair, 'rect', 'pad', { rx: 3 }),
      gel: make(pair, 'rect', 'gel', { rx: 2 }),
      hit: make(pair, 'rect', 'hit'),
      text: make(pair, 'text', 'padname'),
      off: make(pair, 'path', 'off'),
      sign: make(pair, 'text', 'padname'),
    })),
  )
  for (const c of copies) c.text.textContent = c.name
  const bars = [-1, 0, 1].map(side => ({ side, bar: make(grip, 'rect', 'bar', { rx: 2 }), hit: make(grip, 'rect', 'hit') }))

  let unit = 1
  const outline = () => {
    const xs = [0, 0.2 * arm.length_mm, arm.length_mm]
    const edge = s => xs.map(x => `${round(x)} ${round(s * Math.PI * radius(x))}`)
    return `M${edge(-1).join('L')}L${edge(1).reverse().join('L')}Z`
  }

  const place = () => {
    const x = middle(),
      half = pads.side_mm / 2,
      apart = (at.spacing_mm + pads.side_mm) / 2
    const y = height(x, at.around_deg),
      round360 = 2 * Math.PI * radius(x)
    for (const c of copies) {
      const px = x + (c.name === 'near' ? -1 : 1) * apart,
        py = y + c.side * round360
      put(c.pad, { x: px - half, y: py - half, width: 2 * half, height: 2 * half, rx: pads.round ? half : 3 })
      const inner = Math.max(1, half - 2.5)
      put(c.gel, { x: px - inner, y: py - inner, width: 2 * inner, height: 2 * inner, rx: pads.round ? inner : 2 })
      // What does not touch is crossed out: half of the pad, all but a corner, all but spots.
      const spots = [-0.55, 0, 0.55].flatMap(u => [-0.55, 0, 0.55].map(v => [u, v]))
      const hatch = (from, to) =>
        Array.from({ length: 5 }, (_, k) => px - half + 2 * half * (from + ((to - from) * (k + 0.5)) / 5))
          .map(at => `M${round(at, 2)} ${round(py - 0.85 * half, 2)}l${round(-0.18 * half, 2)} ${round(1.7 * half, 2)}`)
          .join('')
      const fault = c.name === 'far' ? pads.contact : 'whole'
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
      c.sign.textContent = (c.name === 'near') === !pads.swap ? '+' : '\u2212'
      put(c.sign, {
        x: px - half + (pads.round ? 0.5 : 0) * half + 4 * unit,
        y: py + half - (pads.round ? 0.3 * half : 0) - 4 * unit,
      })
      const reach = Math.max(half, 22 * unit)
      put(c.hit, { x: px - reach, y: py - reach, width: 2 * reach, height: 2 * reach })
      const roomy = half > 17 * unit && !pads.round
      put(c.text, {
        x: roomy ? px - half + 4 * unit : px,
        y: py - half + (roomy ? 14 : -4) * unit,
        'text-anchor': roomy ? 'start' : 'middle',
      })
    }
    for (const b of bars) {
      // held inside the picture, so that a pad past the wrist can be drawn back
      const px = Math.min(x + apart + half, arm.length_mm - 5 * unit),
        py = y + b.side * round360
      put(b.bar, { x: px - 3.5 * unit, y: py - 11 * unit, width: 7 * unit, height: 22 * unit })
      put(b.hit, { x: px - 11 * unit, y: py - 22 * unit, width: 30 * unit, height: 44 * unit })
    }
    const deg = Math.round(at.around_deg)
    const side =
      deg === 0
        ? 'on the middle of the back'
        : `${Math.abs(deg)} degrees round towards the ${deg > 0 ? 'little finger' : 'thumb'}`
    put(pair, {
      'aria-valuemin': limits.along_percent[0],
      'aria-valuemax': limits.along_percent[1],
      'aria-valuenow': at.along_percent,
      'aria-valuetext': `${Math.round(at.along_percent)} % from elbow to wrist, ${side}, gap ${Math.round(at.spacing_mm)} mm${FAULTS[pads.contact] ?? ''}${pads.swap ? ', leads swapped' : ''}`,
      'aria-description': 'Arrow keys move 5 millimetres, with Shift 1. Plus and minus change the gap.',
    })
    put(grip, {
      'aria-valuemin': limits.spacing_mm[0],
      'aria-valuemax': limits.spacing_mm[1],
      'aria-valuenow': at.spacing_mm,
      'aria-valuetext': `${Math.round(at.spacing_mm)} mm edge to edge`,
    })
    arcs()
  }

  const drawMap = () => {
    const tall = Math.PI * arm.elbow_mm,
      pad = 17 * unit
    put(map, { viewBox: `-4 ${round(-tall - 4)} ${arm.length_mm + 8} ${round(2 * tall + 4 + pad)}`, 'aria-label': model.spoken })
    put(skin, { d: outline() })
    put(clipPath, { d: outline() })
    const lines = []
    for (let x = 50; x < arm.length_mm; x += 50) lines.push([x, -Math.PI * radius(x), x, Math.PI * radius(x)])
    grid.replaceChildren()
    for (const [x1, y1, x2, y2] of lines) make(grid, 'line', 'grid', { x1, y1, x2, y2 })
    make(grid, 'line', 'grid mid', { x1: 0, y1: 0, x2: arm.length_mm, y2: 0 })
    said.replaceChildren()
    const end = arm.length_mm - 4,
      wrist = Math.PI * arm.wrist_mm
    say(arm.length_mm + 2, -Math.PI * radius(arm.length_mm - 70 * unit) - 4 * unit, 'thumb side', 'end')
    say(end, -wrist + 17 * unit, 'back', 'end', 'on')
    say(end, wrist - 9 * unit, 'palm side', 'end', 'on')
    say(end, 4 * unit, 'little-finger side', 'end', 'on')
    say(0, tall + 13 * unit, 'elbow', 'start')
    say(arm.length_mm, tall + 13 * unit, 'wrist', 'end')
    say(arm.length_mm / 2, tall + 13 * unit, 'a line every 5 cm', 'middle')
    spots.replaceChildren()
    for (const m of plain(model.muscles)) {
      const x = (m.along_percent / 100) * arm.length_mm,
        y = height(x, m.around_deg)
      spot(spots, m, x, y, arm.spread_mm, 0.55 * arm.spread_mm, 1)
      if (m.named) {
        const t = make(spots, 'text', 'on', { x: x + arm.spread_mm + 3 * unit, y: y + 4 * unit })
        t.textContent = m.name
      }
    }
    pair.style.display = grip.style.display = pads.shown === false ? 'none' : ''
  }
  const spot = (parent, m, cx, cy, rx, ry, opacity) => {
    if (!m.closer) return make(parent, 'ellipse', 'opener', { cx, cy, rx, ry, opacity, 'fill-opacity': 0.45 + 0.55 * m.share })
    // the dashes stand on a plain ring, so that they are seen on every tone of skin
    make(parent, 'ellipse', 'halo', { cx, cy, rx, ry, opacity })
    make(parent, 'ellipse', 'closer', { cx, cy, rx, ry, opacity })
    if (m.share > 0.02)
      make(parent, 'ellipse', 'opener', {
        cx,
        cy,
        rx: 0.62 * rx,
        ry: 0.62 * ry,
        'fill-opacity': m.share,
        'stroke-opacity': 0,
        opacity,
      })
  }

  // ---- the cut through the arm half-way between the pads, back above, seen from the elbow
  const cutClip = make(make(cut, 'defs'), 'clipPath', '', { id: `${id}-r` })
  const cutRound = make(cutClip, 'circle')
  const blur = make(cut.querySelector('defs'), 'filter', '', { id: `${id}-b` })
  make(blur, 'feGaussianBlur', '', { stdDeviation: 1.4 })
  const fat = make(cut, 'circle', 'fat'),
    flesh = make(cut, 'circle', 'flesh')
  const shade = make(make(cut, 'g', '', { 'clip-path': `url(#${id}-r)` }), 'g', '', { filter: `url(#${id}-b)` })
  const arc = make(cut, 'path', 'gelarc'),
    inside = make(cut, 'g'),
    cutWords = make(cut, 'g')
  let cutUnit = 1
  const R = () => arm.elbow_mm // scale of the picture: the widest place
  const arcs = () => {
    const r = radius(middle()),
      open = pads.side_mm / 2 / r,
      a = (at.around_deg * Math.PI) / 180,
      out = r + 2.2 * cutUnit
    const p = t => `${round(out * Math.sin(t), 2)} ${round(-out * Math.cos(t), 2)}`
    put(arc, { d: pads.shown === false ? '' : `M${p(a - open)}A${out} ${out} 0 ${open > Math.PI / 2 ? 1 : 0} 1 ${p(a + open)}` })
  }
  const drawCut = () => {
    const r = radius(middle()),
      room = R() + 20 * cutUnit
    put(cut, {
      viewBox: `${-room - 12 * cutUnit} ${-room} ${2 * room + 24 * cutUnit} ${2 * room + 6 * cutUnit}`,
      'aria-label': 'Cut through the forearm half-way between the pads. Blue: where the current runs, as in even tissue.',
    })
    put(fat, { r })
    put(flesh, { r: Math.max(1, r - arm.fat_mm) })
    put(cutRound, { r })
    const field = plain(model.field),
      k = Math.round(Math.sqrt(field.length))
    if (shade.childElementCount !== field.length)
      shade.replaceChildren(
        ...field.map(() => {
          const c = document.createElementNS(SVG, 'rect')
          c.setAttribute('class', 'cell')
          return c
        }),
      )
    const w = (2 * r) / (k || 1)
    field.forEach((v, i) =>
      put(shade.children[i], {
        x: round(-r + (i % k) * w, 2),
        y: round(-r + Math.floor(i / k) * w, 2),
        width: w,
        height: w,
        'fill-opacity': round(0.8 * v, 2),
      }),
    )
    inside.replaceChildren()
    const named = []
    for (const m of plain(model.muscles)) {
      const far = Math.abs((m.along_percent / 100) * arm.length_mm - middle())
      if (far > 60) continue
      const out = r - arm.fat_mm + arm.included_mm - m.depth_mm,
        t = (m.around_deg * Math.PI) / 180
      const near = far < 25 ? 1 : 0.5,
        cx = out * Math.sin(t),
        cy = -out * Math.cos(t)
      spot(inside, m, cx, cy, 4 * cutUnit, 4 * cutUnit, near)
      if (m.named && far < 45) named.push([far, m.name, cx, cy, near])
    }
    // the nearest to the cut are named first; a name that would lie on another is left out
    const taken = []
    for (const [, name, cx, cy, near] of named.sort((a, b) => a[0] - b[0])) {
      const x = cx + 6 * cutUnit,
        y = cy + 4 * cutUnit
      if (taken.some(([a, b]) => Math.abs(a - x) < 38 * cutUnit && Math.abs(b - y) < 13 * cutUnit)) continue
      taken.push([x, y])
      make(inside, 'text', 'on', { x, y, opacity: near === 1 ? 1 : 0.8 }).textContent = name
    }
    cutWords.replaceChildren()
    const tell = (x, y, text, anchor) => {
      const t = make(cutWords, 'text', 'quiet', { x, y, 'text-anchor': anchor })
      t.textContent = text
    }
    tell(0, -R() - 8 * cutUnit, 'back', 'middle')
    tell(0, R() + 17 * cutUnit, 'palm side', 'middle')
    tell(-room - 10 * cutUnit, R() + 3 * cutUnit, 'thumb', 'start')
    tell(room + 10 * cutUnit, R() + 3 * cutUnit, 'little finger', 'end')
    arcs()
  }

  const measure = () => {
    const wide = map.clientWidth,
      small = cut.clientWidth
    if (!wide || !small) return
    unit = (arm.length_mm + 8) / wide
    cutUnit = (2 * R()) / Math.max(40, small - 64)
    map.style.setProperty('--u', unit)
    cut.style.setProperty('--u', cutUnit)
    draw()
  }
  // Before its numbers have come there is nothing to draw.
  const draw = () => {
    if (!Number.isFinite(arm.length_mm)) return
    drawMap()
    drawCut()
    place()
  }
  // what comes in one message is drawn once
  let toDraw = false
  const drawSoon = () => {
    if (!toDraw) {
      toDraw = true
      requestAnimationFrame(() => {
        toDraw = false
        draw()
      })
    }
  }

  // ---- hand: drag the pair, or its gap with Shift or by the grip
  const point = e => {
    const p = new DOMPoint(e.clientX, e.clientY).matrixTransform(map.getScreenCTM().inverse())
    return [p.x, p.y]
  }
  const start = gap => e => {
    if (e.button > 0) return
    const [x, y] = point(e)
    drag = { gap: gap || e.shiftKey, x, y, ...at }
    e.currentTarget.setPointerCapture(e.pointerId)
    e.currentTarget.focus({ preventScroll: true })
    e.preventDefault()
  }
  const go = e => {
    if (!drag) return
    const [x, y] = point(e)
    // the pair's middle stays, so that the gap grows by twice the way of one pad
    if (drag.gap) set({ spacing_mm: Math.round(drag.spacing_mm + 2 * (x - drag.x)) })
    else
      set({
        along_percent: drag.along_percent + (100 * (x - drag.x)) / arm.length_mm,
        around_deg: Math.round(drag.around_deg + (180 * (y - drag.y)) / (Math.PI * radius(middle()))),
      })
  }
  const stop = () => {
    if (drag) {
      drag = null
      model.rests += 1
    }
  }
  for (const [node, gap] of [
    [pair, false],
    [grip, true],
  ]) {
    node.addEventListener('pointerdown', start(gap))
    node.addEventListener('pointermove', go)
    for (const end of ['pointerup', 'pointercancel', 'lostpointercapture']) node.addEventListener(end, stop)
  }

  // ---- keys
  const keys = gap => e => {
    if (e.ctrlKey || e.metaKey || e.altKey) return
    const mm = e.shiftKey ? 1 : 5
    const along = (100 * mm) / arm.length_mm,
      deg = (180 * mm) / (Math.PI * radius(middle()))
    const wider = { spacing_mm: at.spacing_mm + mm },
      closer = { spacing_mm: at.spacing_mm - mm }
    const change = gap
      ? { ArrowRight: wider, ArrowUp: wider, ArrowLeft: closer, ArrowDown: closer }[e.key]
      : {
          ArrowRight: { along_percent: at.along_percent + along },
          ArrowLeft: { along_percent: at.along_percent - along },
          ArrowUp: { around_deg: at.around_deg - deg },
          ArrowDown: { around_deg: at.around_deg + deg },
        }[e.key]
    // plus is typed with Shift on many keyboards
    const step = { '+': 5, '=': 5, '-': -5, _: -5 }[e.key]
    if (!change && !step) return
    e.preventDefault()
    e.stopPropagation()
    set(change ?? { spacing_mm: at.spacing_mm + step })
  }
  pair.addEventListener('keydown', keys(false))
  grip.addEventListener('keydown', keys(true))

  // ---- from Python
  model.on('pads', () => {
    const given = plain(model.pads)
    pads = { ...given, n: pads.n }
    if ((given.n ?? 0) >= n && !drag) {
      n = given.n ?? n
      at = { along_percent: given.along_percent, around_deg: given.around_deg, spacing_mm: given.spacing_mm }
    }
    drawSoon()
  })
  for (const p of ['muscles', 'field', 'spoken']) model.on(p, drawSoon)
  model.on('arm', () => {
    arm = plain(model.arm)
    measure()
  })
  model.on('limits', () => {
    limits = plain(model.limits)
  })
  new ResizeObserver(measure).observe(box)
  draw()
  return box
}
