// The forearm's skin unrolled, elbow left: the thumb side is the upper and the lower edge, the little-finger side the middle
// line.

import { clamp, make, num } from './svg.js'
import { said, textSize, textWidth } from './words.js'

const ARM = { length_mm: 248, elbow_mm: 38, wrist_mm: 24 }

export function forearmPicture(draw, P, o = {}) {
  const svg = make(draw, 'svg', { class: 'gwt-svg', role: 'img' })
  const keys = document.createElement('div')
  keys.className = 'gwt-keys'
  draw.after(keys)
  let place = o.place ?? null,
    alive = true,
    g = null,
    drag = false,
    rows = []

  const paint = () => {
    if (!alive) return
    const arm = { ...ARM, ...P.arm },
      W = draw.clientWidth || 320,
      H = draw.clientHeight || 300,
      px = o.small ? 12 : textSize(),
      big = px > 17 ? 1.25 : 1
    const radius = x => arm.elbow_mm + (arm.wrist_mm - arm.elbow_mm) * clamp((x / arm.length_mm - 0.2) / 0.8, 0, 1)
    const tall = 2 * Math.PI * arm.elbow_mm
    const scale = Math.min((W - 8) / arm.length_mm, (H - 2.7 * px - 8) / tall)
    const left = (W - scale * arm.length_mm) / 2,
      mid = 4 + (scale * tall) / 2 + px * 1.2
    const turn = deg => ((((deg + 90) % 360) + 360) % 360) / 360 - 0.5
    const X = mm => left + scale * mm,
      Y = (x, deg) => mid + scale * turn(deg) * 2 * Math.PI * radius(x)
    g = { X, Y, arm, radius, scale, left, mid }
    svg.setAttribute('viewBox', `0 0 ${W} ${H}`)
    svg.setAttribute('width', W)
    svg.setAttribute('height', H)
    svg.setAttribute('aria-label', said(P))
    svg.replaceChildren()
    const taken = [],
      dots = []
    const halo = `;stroke:var(--surface);stroke-width:${num(px * 0.34)};paint-order:stroke;stroke-linejoin:round`
    const text = (parent, words, x, y, more = {}) => {
      const t = make(parent, 'text', {
        x: num(x),
        y: num(y),
        'font-size': num(more.px ?? px),
        'text-anchor': more.anchor ?? 'start',
        style: `fill:var(--${more.token ?? 'ink2'});font-weight:${more.weight ?? 450}${more.halo === false ? '' : halo}`,
      })
      t.textContent = words
      return t
    }
    const xs = [0, 0.2 * arm.length_mm, arm.length_mm]
    const edge = s => xs.map(x => `${num(X(x))} ${num(mid + s * scale * Math.PI * radius(x))}`)
    make(svg, 'path', {
      d: `M${edge(-1).join('L')}L${edge(1).reverse().join('L')}Z`,
      'stroke-width': 1.6 * big,
      style: 'fill:var(--skin);stroke:var(--skin-line)',
    })
    let lines = ''
    for (let x = 50; x < arm.length_mm; x += 50)
      lines += `M${num(X(x))} ${num(mid - scale * Math.PI * radius(x))}V${num(mid + scale * Math.PI * radius(x))}`
    make(svg, 'path', { d: lines, 'stroke-width': 1, style: 'stroke:var(--skin-line);stroke-opacity:.35' })
    make(svg, 'path', {
      d: `M${num(X(0))} ${num(mid)}H${num(X(arm.length_mm))}`,
      'stroke-width': 1.2,
      'stroke-dasharray': '5 4',
      style: 'stroke:var(--skin-line);stroke-opacity:.7',
    })
    const top = mid - (scale * tall) / 2,
      low = mid + (scale * tall) / 2
    const key = 'filled: opens; dashed: closes',
      keyed = (P.nerves ?? []).some(n => n.closer)
    const tight = keyed && textWidth(`thumb side ${key}`, px * 0.92, 450) + 10 > scale * arm.length_mm
    if (!tight) text(svg, 'thumb side', X(0) + 2, top - px * 0.35, { px: px * 0.92, halo: false })
    text(svg, 'thumb side', X(0) + 2, low + px * 1.02, { px: px * 0.92, halo: false })
    text(svg, 'to the wrist', X(arm.length_mm), low + px * 1.02, { anchor: 'end', px: px * 0.92, halo: false })
    if (keyed) taken.push({ x: X(0), y: top - px * 1.5, w: scale * arm.length_mm, h: px * 1.4 })
    const onSkin = (words, x, y, anchor) => {
      const w = textWidth(words, px * 0.92, 600)
      taken.push({ x: anchor === 'end' ? x - w : x, y: y - px, w, h: px * 1.2 })
      text(svg, words, x, y, { anchor, px: px * 0.92, token: 'ink', weight: 600 })
    }
    onSkin('back of the arm', X(arm.length_mm) - 6, mid - scale * Math.PI * arm.wrist_mm * 0.5 + px * 0.3, 'end')
    onSkin('little-finger side', X(arm.length_mm) - 6, mid + px * 0.3, 'end')
    onSkin('palm side', X(arm.length_mm) - 6, mid + scale * Math.PI * arm.wrist_mm * 0.5 + px * 0.3, 'end')

    // pads, the first pair whole, a second one as an outline of dashes
    for (const [n, pad] of (P.pads ?? []).entries()) {
      const apart = ((pad.spacing_mm ?? 40) + pad.side_mm) / 2,
        half = pad.side_mm / 2,
        middle = (pad.along_percent / 100) * arm.length_mm
      for (const [side, name] of [
        [-1, 'near'],
        [1, 'far'],
      ]) {
        const x = middle + side * apart,
          y = Y(middle, pad.around_deg)
        make(svg, 'rect', {
          x: num(X(x - half)),
          y: num(y - scale * half),
          width: num(2 * scale * half),
          height: num(2 * scale * half),
          rx: num(pad.round ? scale * half : 4),
          'stroke-width': 2.4 * big,
          'stroke-dasharray': n ? '6 4' : '',
          style: `fill:var(--surface);fill-opacity:${n ? 0 : 0.86};stroke:var(--ink)`,
        })
        // where the pads are drawn small, their words shrink to what tells them apart
        const long = `${name} pad`,
          room = scale * (2 * half + (pad.spacing_mm ?? 40)) - 6
        const words = pad.label || (textWidth(long, px * 0.92, 700) > room ? name : long)
        if (pad.label && side > 0 !== n > 0) continue
        const w = textWidth(words, px * 0.92, 700),
          wx = clamp(X(x) - w / 2, 2, W - w - 2)
        const wy = n ? y + scale * half - px * 0.4 : y - scale * half + px * 1.05
        taken.push({ x: wx, y: wy - px, w, h: px * 1.2 })
        text(svg, words, wx, wy, { token: 'current-t', weight: 700, px: px * 0.92 })
      }
    }

    // places where nerve branches end: openers filled, closers as rings of dashes
    const nerves = (P.nerves ?? []).map(n => {
      const x = (n.along_percent / 100) * arm.length_mm
      return { ...n, cx: X(x), cy: Y(x, n.around_deg) }
    })
    for (const n of nerves) dots.push([n.cx, n.cy])
    if (place?.locked && place.value) {
      const x = (place.value.x / 100) * arm.length_mm,
        cx = X(x),
        cy = Y(x, place.value.y ?? 0)
      for (const dx of [-14, 0, 14]) for (const dy of [-14, 0, 14]) dots.push([cx + dx * big, cy + dy * big])
    }
    const r = 7 * big
    for (const n of nerves) {
      make(svg, 'circle', {
        cx: num(n.cx),
        cy: num(n.cy),
        r,
        'stroke-width': 4.5,
        style: 'fill:var(--surface);stroke:var(--surface)',
      })
      make(svg, 'circle', {
        cx: num(n.cx),
        cy: num(n.cy),
        r,
        'stroke-width': 2.6 * big,
        'stroke-dasharray': n.closer ? '4 3' : '',
        style: `fill:var(--${n.closer ? 'surface' : 'force-f'});stroke:var(--force-f)`,
      })
    }
    for (const n of nerves) {
      const words =
        n.threshold_ma === null || n.threshold_ma === undefined
          ? (n.label ?? n.muscle)
          : `${n.label ?? n.muscle} ${Math.round(n.threshold_ma)} mA`
      const w = textWidth(words, px, 700),
        h = px * 1.15,
        spots = []
      for (const [dx, dy, c] of [
        [w / 2 + r + 5, 0, 0],
        [-w / 2 - r - 5, 0, 0.5],
        [0, -r - px * 0.7, 1],
        [0, r + px * 0.75, 1],
        [w / 2 + r, -px * 0.9, 1.5],
        [w / 2 + r, px * 0.9, 1.5],
        [-w / 2 - r, -px * 0.9, 2],
        [-w / 2 - r, px * 0.9, 2],
        [0, -r - px * 1.8, 4],
        [0, r + px * 1.9, 4],
      ])
        spots.push([n.cx + dx, n.cy + dy, c])
      let best = null,
        least = Infinity
      for (const [cx, cy, c0] of spots) {
        const x = clamp(cx - w / 2, 2, W - w - 2),
          y = cy - h / 2
        let cost = c0 + 0.2 * Math.abs(x - cx + w / 2)
        for (const [a, b] of dots) if (a > x - r && a < x + w + r && b > y - r + 2 && b < y + h + r - 2) cost += 8
        for (const t of taken) if (x < t.x + t.w + 4 && t.x < x + w + 4 && y < t.y + t.h && t.y < y + h) cost += 20
        if (cost < least) {
          least = cost
          best = { x, y, w, h }
        }
      }
      taken.push(best)
      text(svg, words, best.x, best.y + h * 0.8, { token: 'force-t', weight: 700 })
    }
    if (keyed)
      text(svg, key, tight ? clamp(W / 2, 0, W) : X(arm.length_mm), top - px * 0.35, {
        anchor: tight ? 'middle' : 'end',
        px: px * 0.92,
        halo: false,
      })

    if (!place) return
    const spot = at => {
      const x = (at.x / 100) * arm.length_mm
      return [X(x), Y(x, at.y ?? 0)]
    }
    if (place.right) {
      const { x, y, within_x, within_y } = place.right,
        [cx, cy] = spot({ x, y: y ?? 0 })
      const rx = (scale * arm.length_mm * within_x) / 100,
        ry = within_y ? (scale * 2 * Math.PI * radius((x / 100) * arm.length_mm) * within_y) / 360 : scale * 60
      make(svg, 'ellipse', {
        cx: num(cx),
        cy: num(cy),
        rx: num(rx),
        ry: num(ry),
        'stroke-width': 2.6 * big,
        'stroke-dasharray': '5 4',
        style: 'fill:var(--surface);fill-opacity:.25;stroke:var(--ink)',
      })
      text(svg, 'right within', clamp(cx, 50, W - 50), cy + ry + px * 1.05, { anchor: 'middle', token: 'ink', weight: 700 })
    }
    for (const v of place.others ?? []) {
      const [cx, cy] = spot(v)
      make(svg, 'circle', { cx: num(cx), cy: num(cy), r: 4 * big, style: 'fill:var(--ink);fill-opacity:.55' })
    }
    if (!place.value) return
    const [cx, cy] = spot(place.value)
    make(svg, 'circle', { cx: num(cx), cy: num(cy), r: 13 * big, 'stroke-width': 7, style: 'fill:none;stroke:var(--surface)' })
    make(svg, 'circle', {
      cx: num(cx),
      cy: num(cy),
      r: 13 * big,
      'stroke-width': 3.6 * big,
      style: 'fill:none;stroke:var(--ink)',
    })
    const [short, gap] = [8 * big, 24 * big]
    const across = `M${num(cx - 20 * big)} ${num(cy)}h${short}m${gap} 0h${short}`
    const cross = `${across}M${num(cx)} ${num(cy - 20 * big)}v${short}m0 ${gap}v${short}`
    make(svg, 'path', { d: cross, 'stroke-width': 3 * big, style: 'stroke:var(--ink)' })
    if (place.locked) text(svg, 'yours', cx + 22 * big, cy - 12 * big, { token: 'ink', weight: 700 })
  }

  const set = at => {
    place = { ...place, value: { x: Math.round(clamp(at.x, 0, 100) * 10) / 10, y: Math.round(at.y) } }
    paint()
    rows.forEach((row, i) => row.set(i ? place.value.y : place.value.x))
    place.onchange?.(place.value)
  }
  const open = () => place && !place.locked
  const take = e => {
    const box = svg.getBoundingClientRect(),
      mm = clamp((e.clientX - box.left - g.left) / g.scale, 0, g.arm.length_mm)
    const part = clamp((e.clientY - box.top - g.mid) / (g.scale * 2 * Math.PI * g.radius(mm)), -0.5, 0.5)
    const deg = (part + 0.5) * 360 - 90
    set({ x: (100 * mm) / g.arm.length_mm, y: deg > 180 ? deg - 360 : deg })
  }
  svg.addEventListener('pointerdown', e => {
    if (!open() || e.button) return
    svg.setPointerCapture(e.pointerId)
    drag = true
    take(e)
    e.preventDefault()
  })
  svg.addEventListener('pointermove', e => {
    if (drag) take(e)
  })
  for (const end of ['pointerup', 'pointercancel'])
    svg.addEventListener(end, () => {
      drag = false
    })

  const range = (name, low, high, value, unit, onset) => {
    const row = document.createElement('label'),
      input = document.createElement('input'),
      out = document.createElement('output'),
      words = document.createElement('span')
    out.setAttribute('aria-live', 'off')
    Object.assign(input, { type: 'range', min: low, max: high, step: 1, value })
    words.textContent = name
    const show = () => {
      out.textContent = unit(Number(input.value))
      input.setAttribute('aria-valuetext', out.textContent)
    }
    input.addEventListener('input', () => {
      show()
      onset(Number(input.value))
    })
    row.append(words, input, out)
    row.set = v => {
      input.value = v
      show()
    }
    show()
    return row
  }
  const build = () => {
    svg.style.touchAction = open() ? 'none' : ''
    svg.style.cursor = open() ? 'crosshair' : ''
    keys.replaceChildren()
    rows = []
    if (!open()) return
    const at = () => place.value ?? { x: 50, y: 0 }
    rows = [
      range(
        'Along the arm',
        0,
        100,
        at().x,
        v => `${Math.round(v)} % to the wrist`,
        x => set({ ...at(), x }),
      ),
      range(
        'Round the arm',
        -180,
        180,
        at().y,
        v =>
          Math.round(v) === 0 ? 'middle of the back' : `${Math.abs(Math.round(v))}° to the ${v > 0 ? 'little finger' : 'thumb'}`,
        y => set({ ...at(), y }),
      ),
    ]
    keys.append(...rows)
  }
  const sizer = new ResizeObserver(paint)
  sizer.observe(draw)
  paint()
  build()
  return {
    svg,
    paint,
    update(next, options = {}) {
      P = next
      if ('place' in options) place = options.place
      paint()
      build()
    },
    destroy() {
      alive = false
      sizer.disconnect()
      svg.remove()
      keys.remove()
    },
  }
}
