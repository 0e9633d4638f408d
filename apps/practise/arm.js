// The arm from above, to scale: shoulder left, hand right; sleeve or cloth under it, the other hand, pads on the upper arm.

import { plain } from '../web/plain.js'
import { make } from '../web/svg.js'

const NS = 'http://www.w3.org/2000/svg'
const ASIDE = 0.4 // the way to the object's place, drawn shorter than it is
const WORD_PX = 13

export function render({ model }) {
  const box = document.createElement('div')
  box.className = 'gw gw-arm'
  const parts = document.createElement('div'),
    svg = document.createElementNS(NS, 'svg'),
    text = document.createElement('p'),
    title = document.createElement('b'),
    said = document.createElement('span')
  title.textContent = 'The arm from above'
  svg.setAttribute('role', 'img')
  svg.setAttribute('preserveAspectRatio', 'xMidYMid meet')
  text.append(title, said)
  parts.append(svg, text)
  box.append(parts)
  const ink = 'var(--ink)',
    line = 'var(--line)',
    edge = 'var(--edge)',
    surface = 'var(--surface)'
  const word = (text, x, y, more = {}) => {
    make(svg, 'text', {
      x,
      y,
      'font-size': size,
      'text-anchor': 'middle',
      style: 'fill:var(--ink2);font-family:var(--font, sans-serif)',
      ...more,
    }).textContent = text
  }
  const limb = (a, b, w) => {
    for (const [style, more] of [
      [`stroke:${edge}`, 4],
      [`stroke:${surface}`, 0],
    ])
      make(svg, 'line', { x1: a[0], y1: a[1], x2: b[0], y2: b[1], 'stroke-width': w + more, 'stroke-linecap': 'round', style })
  }
  const on = (a, b, f, off) => {
    const dx = b[0] - a[0],
      dy = b[1] - a[1],
      l = Math.hypot(dx, dy) || 1
    return [a[0] + f * dx - (off * dy) / l, a[1] + f * dy + (off * dx) / l, (Math.atan2(dy, dx) * 180) / Math.PI]
  }
  const draw = () => {
    const t = plain(model.told)
    if (!t?.upper) return
    const layout = document.documentElement.dataset.layout
    box.hidden = model.where === 'show' ? layout !== 'phone' : (layout === 'desk') !== (model.where === 'desk')
    if (box.hidden) return
    svg.replaceChildren()
    // the person sits to the left; the hand goes right, then aside, which is up
    const wide = Math.max(t.start + t.reach + 190, t.start + 400),
      aside = ASIDE * t.carry,
      y0 = aside + 70,
      high = y0 + 300
    const Y = v => y0 - ASIDE * v,
      left = -120
    svg.setAttribute('viewBox', `${left} 0 ${wide - left} ${high}`)
    size = WORD_PX / Math.max(Math.min((svg.clientWidth || 380) / (wide - left), (svg.clientHeight || 200) / high), 0.1)
    // bench, the way, and how far the elbow goes
    make(svg, 'path', {
      d: `M${t.start - 60} 8H${wide - 12}V${high - 6}H${t.start - 60}`,
      fill: 'none',
      'stroke-width': 2,
      style: `stroke:${line}`,
    })
    const limit = t.start + Math.min(t.limit, 2 * t.reach)
    make(svg, 'line', {
      class: 'limit',
      x1: limit,
      x2: limit,
      y1: y0 - 50,
      y2: y0 + 50,
      'stroke-width': 4,
      style: `stroke:${ink}`,
    })
    if (t.limit < t.reach - 0.5) word('elbow ends here', limit + 10, y0 + 46 + size, { 'text-anchor': 'start' })
    make(svg, 'circle', {
      cx: t.start + t.reach,
      cy: Y(t.carry),
      r: t.diameter / 2 + 9,
      fill: 'none',
      'stroke-width': 3,
      'stroke-dasharray': '7 6',
      style: `stroke:${ink}`,
    })
    word('its place', t.start + t.reach + t.diameter / 2 + 18, Y(t.carry) + 6, { 'text-anchor': 'start' })
    // two circles meet at the elbow
    const S = [t.lean, y0],
      H = [t.start + t.out, Y(t.aside)]
    const dx = H[0] - S[0],
      dy = H[1] - S[1],
      d = Math.min(Math.hypot(dx, dy), t.upper + t.fore - 0.01)
    const along = (t.upper ** 2 - t.fore ** 2 + d * d) / (2 * d),
      off = Math.sqrt(Math.max(t.upper ** 2 - along ** 2, 0)),
      l = Math.hypot(dx, dy) || 1
    const E = [S[0] + (along * dx - off * dy) / l, S[1] + (along * dy + off * dx) / l]
    make(svg, 'ellipse', {
      cx: S[0] - 46,
      cy: y0 - 60,
      rx: 44,
      ry: 118,
      'stroke-width': 2,
      style: `fill:${surface};stroke:${edge}`,
    })
    if (t.lean > 1)
      word(`leans ${Math.round(t.lean)} mm`, S[0] + 10, size, {
        'text-anchor': 'start',
        style: 'fill:var(--ink);font-weight:700;font-family:var(--font, sans-serif)',
      })
    const held = t.held ? [t.out, t.aside] : t.object
    if (t.under === 'cloth') {
      const [x, y, turn] = on(E, H, 0.3, 0)
      make(svg, 'rect', {
        class: 'cloth',
        x: -95,
        y: -62,
        width: 190,
        height: 124,
        rx: 8,
        transform: `translate(${x} ${y}) rotate(${turn})`,
        'stroke-width': 2.5,
        'stroke-dasharray': '10 5',
        style: `fill:${line};stroke:${ink}`,
      })
    }
    limb(S, E, 78)
    limb(E, H, 54)
    limb(H, H, 62)
    make(svg, 'circle', {
      cx: t.start + held[0] + (t.held ? 22 : 30),
      cy: Y(held[1]),
      r: t.diameter / 2,
      'stroke-width': 2.5,
      style: `fill:var(--object);stroke:${edge}`,
    })
    const y = Y(t.aside)
    limb([H[0], y - 8], [H[0] + 66, y - 22], 30)
    limb([H[0] - 8, y + 14], [H[0] + 40, y + 38], 17)
    if (t.under !== 'lifted') {
      // the sleeve: bands round the forearm
      for (const f of t.under === 'sleeve' ? [0.08, 0.2, 0.32, 0.44, 0.56] : []) {
        const a = on(E, H, f, 28),
          b = on(E, H, f, -28)
        make(svg, 'line', { class: 'sleeve', x1: a[0], y1: a[1], x2: b[0], y2: b[1], 'stroke-width': 5, style: `stroke:${line}` })
      }
    } else word('lifted off the bench', (E[0] + H[0]) / 2 + 50, (E[1] + H[1]) / 2 + 66, { 'text-anchor': 'start' })
    const [ux, uy] = on(E, H, 0.5, 70)
    if (t.under === 'cloth') word('cloth', ux, uy + size, { 'text-anchor': 'start' })
    if (t.under === 'sleeve' && !t.helped) word('sleeve', ux - 14, uy + 0.6 * size, { 'text-anchor': 'start' })
    if (t.helped) {
      const [x, y] = on(E, H, 0.62, 0)
      make(svg, 'g', { class: 'helper' })
      limb([x + 64, y + 170], [x + 18, y + 52], 34)
      limb([x + 14, y + 44], [x + 14, y + 44], 48)
      for (const [a, b, c, d] of [
        [-6, 30, -22, -24],
        [8, 26, 0, -34],
        [22, 28, 22, -30],
        [38, 44, 56, 12],
      ])
        limb([x + a, y + b], [x + c, y + d], 13)
      word('the other hand lifts', x + 78, y + 104, { 'text-anchor': 'start' })
    }
    if (t.elbow >= 0)
      for (const f of [0.34, 0.62]) {
        const [x, y, turn] = on(S, E, f, 20)
        make(svg, 'rect', {
          class: 'elbow-pad',
          x: -22,
          y: -15,
          width: 44,
          height: 30,
          rx: 6,
          transform: `translate(${x} ${y}) rotate(${turn})`,
          'stroke-width': 7,
          style: `fill:${ink};stroke:${t.elbow > 0.02 ? 'var(--current-f)' : ink};stroke-opacity:${Math.max(t.elbow, 0.25)}`,
        })
      }
    if (t.elbow >= 0) word(t.elbow > 0.02 ? 'pads on' : 'pads off', E[0] + 62, high - 12, { 'text-anchor': 'start' })
    if (t.tilts) word('tilts sideways to let go', H[0] + 30, Y(t.aside) - 50, { 'text-anchor': 'start' })
    said.textContent = t.words
    const parts = [
      t.words,
      t.helped ? 'The other hand lifts the arm.' : '',
      t.under === 'lifted' ? 'The arm is lifted.' : `The arm lies on its ${t.under === 'cloth' ? 'cloth' : 'sleeve'}.`,
      t.elbow >= 0 ? `Pads on the upper arm, ${t.elbow > 0.02 ? 'on' : 'off'}.` : '',
      t.tilts ? 'The hand tilts sideways to let go.' : '',
    ]
    svg.setAttribute('aria-label', parts.filter(Boolean).join(' '))
  }
  let size = 20
  model.on('told', draw)
  const sizer = new ResizeObserver(draw)
  sizer.observe(box)
  const watcher = new MutationObserver(draw)
  watcher.observe(document.documentElement, { attributeFilter: ['data-layout'] })
  model.on('remove', () => {
    sizer.disconnect()
    watcher.disconnect()
  })
  requestAnimationFrame(draw)
  return box
}
