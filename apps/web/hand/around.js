// What stands around the hand: rest, table, splint, bench, object, upper arm.

import { FOREARM_MM } from '../given.js'
import { clamp, color, make, num, pathText, put, spline, xy } from '../svg.js'
import { FLAT_MM, forearmWidth } from './shape.js'
import { beside, onJoint } from './bones.js'

const REST = { from: -184, to: -118 }

// Back of the upper arm down to the elbow, on the page's own axes: it rises behind the forearm's end.
const upperArm = under => `M-286 -176C-290 -110 -286 -46 -266 0C-254 ${num(0.64 * under)} -240 ${num(0.94 * under)} -214 ${under}`

export const UPPER_INNER = 'C-187 -70 -190 -110 -192 -176'

const UPPER_MM = 300

// The table that forearm and palm lie on; its front edge is behind the thumb.
const SLAB = { edge: 70, thick: 13, under: 20 }

// `flip` -1: the palm faces up, and it is the back of the arm that lies below.
export function drawUpper(n, upper, view) {
  const on = Boolean(upper && view.upper)
  put(n.upper.g, { visibility: on ? 'visible' : 'hidden' })
  put(n.fade, { visibility: on ? 'hidden' : 'visible' })
  if (!on) return
  const outer = upperArm(view.flat ? FLAT_MM : 47)
  put(n.upper.line, { d: outer })
  put(n.upper.fill, { d: `${outer}L-172 -41${UPPER_INNER}Z` })
  // The pair is drawn at its height over the elbow, as far as the picture reaches.
  const side = clamp(upper.side_mm, 14, 40),
    middle = clamp((1 - upper.along_percent / 100) * UPPER_MM, 62, 112),
    lit = clamp(upper.current / 0.15, 0, 1)
  n.upper.pads.forEach((p, i) => {
    const y = middle + (i ? 1 : -1) * 0.5 * (side + 8),
      x = -288 + Math.max(0, 60 - y) * 0.12
    put(p.body, { x: num(x - 4), y: num(-y - side / 2), height: num(side) })
    put(p.lit, { d: `M${num(x + 7)} ${num(-y - side / 2)}v${num(side)}`, 'stroke-opacity': num(lit) })
    put(n.upper.glow[i], {
      cx: num(x + 8),
      cy: num(-y),
      rx: num(12 + 26 * upper.current),
      ry: num(18 + 22 * upper.current),
      opacity: num(lit * (0.45 + 0.55 * upper.current)),
    })
  })
}

export function drawRest(n, tableY, flip) {
  const { from, to } = REST
  const skin = x => -forearmWidth(x + FOREARM_MM, -flip)
  const top = [],
    low = []
  for (let i = 0; i <= 6; i++) {
    const f = i / 6,
      x = from - 3 + f * (to - from + 6)
    // The pad lies under the arm and swells a little beyond it at both ends.
    top.push([x, skin(x) + (i === 0 || i === 6 ? 2.2 : 0.8)])
    low.push([x, skin(from) + (skin(to) - skin(from)) * f - 10 - 2 * Math.sin(Math.PI * f)])
  }
  put(n.restPad, {
    d: `${pathText(spline([...top, [to + 6.5, skin(to) - 5], ...low.reverse(), [from - 6.5, skin(from) - 5], top[0]]))}Z`,
  })
  put(n.restSeam, {
    d: pathText(
      spline([
        [from - 5, skin(from) - 5.5],
        [(from + to) / 2, skin((from + to) / 2) - 6.5],
        [to + 5, skin(to) - 5.5],
      ]),
    ),
  })
  const a = skin(from) - 9,
    b = skin(to) - 9
  put(n.restBlock, { d: `M${xy([from + 2, a])}L${xy([to - 2, b])}L${xy([to + 3, tableY + 5])}L${xy([from - 3, tableY + 5])}Z` })
  put(n.restFoot, { d: `M${xy([from - 12, tableY])}V${num(-tableY - 4)}q0 -2 2 -2H${num(to + 10)}q2 0 2 2V${num(-tableY)}Z` })
}

export function drawTable(n, look, view, flip) {
  const on = Boolean(look.rests) && look.forearm !== 'neutral',
    y = num(flip * SLAB.under),
    t = flip * SLAB.thick,
    left = num(view.x0 - 6)
  put(n.slab, { visibility: on ? 'visible' : 'hidden' })
  if (!on) return
  const floor = num(-flip * view.tableY),
    leg = x => `M${x} ${num(+y + t)}V${floor}h12V${num(+y + t)}`
  put(n.slab, { d: `M${left} ${y}H${SLAB.edge}V${num(+y + t)}H${left}` + (view.narrow ? '' : leg(-170) + leg(SLAB.edge - 26)) })
}

export function drawSplint(n, shape, held, tableY, narrow, flip) {
  put(n.splintStand, { visibility: held && !narrow ? 'visible' : 'hidden' })
  for (const p of [n.straps, ...n.splint]) put(p, { visibility: held ? 'visible' : 'hidden' })
  if (!held) return
  const near = shape.near
  const under = flip > 0 ? -1 : 0.86,
    seen = p => [p[0], flip * p[1]]
  const line = pathText(
    spline(
      [
        beside(near, 0, 148, 36.2 * under),
        beside(near, 0, 190, 27 * under),
        beside(near, 0, 216, 24 * under),
        onJoint(near, 1, 24.5 * under),
        beside(near, 1, 16, 23 * under),
        beside(near, 1, 40, 20 * under),
      ].map(seen),
    ),
  )
  for (const p of n.splint) put(p, { d: line })
  put(n.splintStand, { d: `M${xy([-52, -27])}L${xy([-22, -24])}L${xy([-16, tableY])}L${xy([-58, tableY])}Z` })
  const strap = (i, s, a, b) => `M${xy(beside(near, i, s, a))}L${xy(beside(near, i, s, b))}`
  put(n.straps, { d: strap(0, 186, 22, -27) + strap(1, 46, 13.5, -5) })
}

export function drawObject(n, shape, object, state, view) {
  // A close picture ends above the bench, and so above what stands on it; the view from the tips has the object in it.
  const shown = Boolean(object && object.diameter_mm > 0 && ((!view.narrow && !view.cut) || object.held || object.center_mm))
  put(n.object, { visibility: shown ? 'visible' : 'hidden' })
  put(n.ghostFar, { visibility: shown ? 'visible' : 'hidden' })
  if (!shown) return
  const r = object.diameter_mm / 2,
    points = state.opening?.points
  let c = [178, view.tableY + r]
  const flip = view.flip
  if (object.center_mm) c = object.center_mm
  else if (object.held) {
    c =
      r < 20 && points
        ? [(points[0][0] + points[1][0]) / 2, (points[0][1] + points[1][1]) / 2]
        : beside(shape.near, 1, 78 + 0.515 * r, -13.5 - r)
    c = [c[0], flip * c[1]]
  }
  // A stand under an object that is not on the bench itself, and not in the hand.
  const foot = c[1] - r - view.tableY,
    stands = Boolean(object.stand && (!view.narrow || view.benched) && foot > 2)
  put(
    n.stand,
    stands
      ? { visibility: 'inherit', x: num(c[0] - 24), y: num(-(c[1] - r)), width: 48, height: num(foot) }
      : { visibility: 'hidden' },
  )
  put(n.objectDisc, { cx: num(c[0]), cy: num(-c[1]), r: num(r) })
  const ring = q =>
    `M${num(c[0] - q)} ${num(-c[1])}a${num(q)} ${num(q)} 0 1 0 ${num(2 * q)} 0a${num(q)} ${num(q)} 0 1 0 ${num(-2 * q)} 0`
  const seam = k =>
    `M${num(c[0] + k * 0.35 * r)} ${num(-c[1] - 0.93 * r)}Q${num(c[0] + k * 0.85 * r)} ${num(-c[1])} ${num(c[0] + k * 0.35 * r)} ${num(-c[1] + 0.93 * r)}`
  put(n.objectMarks, { d: r >= 28 ? ring(r - 5) : r >= 14 ? seam(-1) + seam(1) : ring(r * 0.3) })
  put(n.clipObject, {
    d: `M${num(c[0] - r)} ${num(-flip * c[1])}a${num(r)} ${num(r)} 0 1 0 ${num(2 * r)} 0a${num(r)} ${num(r)} 0 1 0 ${num(-2 * r)} 0Z`,
  })
  // Fingers behind the object stay visible as thin lines on it.
  put(n.ghostFar, { d: n.ghosts })
}

// Height of the letters at the place, in px.
export const placeLetter = () => 0.87 * parseFloat(getComputedStyle(document.documentElement).fontSize)

// The place to put it, what the arm slides on, and the other hand under it.
export function drawBench(n, bench, object, view, width) {
  const seen = Boolean(bench && (!view.narrow || view.benched)),
    y = -view.tableY,
    letter = (placeLetter() * view.w) / width
  const r = Math.max(10, (object?.diameter_mm ?? 40) / 2),
    x = bench?.place_mm ?? 0
  put(
    n.place,
    seen
      ? { visibility: 'inherit', d: `M${num(x - r - 8)} ${num(y - 1)}h${num(2 * r + 16)}m-8 -7v7m${num(-2 * r)} -7v7` }
      : { visibility: 'hidden' },
  )
  if (!seen) {
    n.placeWord?.remove()
    n.placeWord = null
  } else {
    if (!n.placeWord) {
      n.placeWord = make(n.world, 'text', {
        'text-anchor': 'middle',
        visibility: 'hidden',
        style: `fill:${color('ink2')}`,
      })
      n.placeWord.textContent = 'its place'
    }
    put(n.placeWord, { visibility: 'inherit', x: num(x), y: num(y + 1.1 * letter), 'font-size': num(letter) })
  }
  put(
    n.cloth,
    seen && bench.cloth ? { visibility: 'inherit', x: -196, y: num(y - 3.5), width: 96, height: 3.5 } : { visibility: 'hidden' },
  )
  put(
    n.helper,
    seen && bench.helped
      ? {
          visibility: 'inherit',
          d: 'M-112 74C-108 58 -92 50 -76 47L-38 40C-30 39 -28 45 -35 48L-60 55L-34 55C-26 55 -25 63 -33 64L-58 66C-62 78 -78 92 -92 108L-118 96Z',
        }
      : { visibility: 'hidden' },
  )
}
