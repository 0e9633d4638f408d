// The part of the hand's world that a picture shows: its view box, what lies over it, the view on a bench.

import { FOREARM_MM } from '../given.js'
import { clamp, color, num, put } from '../svg.js'
import { placeLetter } from './around.js'

const TABLE_MM = -166

export function handBox(shape) {
  let x1 = -Infinity,
    y0 = Infinity,
    y1 = -Infinity
  const eat = p => {
    if (p[0] > x1) x1 = p[0]
    if (p[1] < y0) y0 = p[1]
    if (p[1] > y1) y1 = p[1]
  }
  for (const p of shape.backSkin) if (p[0] > -70) eat(p)
  for (const p of shape.palmSkin) if (p[0] > -70) eat(p)
  for (const p of shape.thumb.back) eat(p)
  for (const p of shape.thumb.front) eat(p)
  eat(shape.tip)
  eat(shape.thumb.chain.joints[3])
  for (const f of shape.far) for (const p of f.chain.joints) eat([p[0] + 3, p[1] + 9])
  return { x1: x1 + 4, y0: y0 - 4, y1: y1 + 4 }
}

// Room of the view from the tips, in a corner of the picture.
export function tipsSize(width, height) {
  // on a phone it lies below the forearm and beside the hand
  if (width < 520) return [Math.min(134, 0.34 * width), Math.max(92, 0.46 * height)]
  const w = clamp(0.31 * width, 200, 340)
  return [w, Math.min(1.25 * w, height - 64)]
}

// What a picture has over it, in the drawing's own mm: the buttons at the upper edge, the caption at the lower one and, in a close
// picture, the view from the tips, with the caption then at the upper left. Words find their places beside them.
const BUTTONS_PX = [238, 52]
export function coveredBy(view, look, mirror) {
  const { width, height } = look,
    k = view.w / width,
    [w, h] = tipsSize(width, height),
    left = mirror < 0 ? width - w - 10 : 0
  const over = view.narrow || look.buttons ? [[width - BUTTONS_PX[0], 0, width, BUTTONS_PX[1]]] : []
  if (view.narrow && look.tips) over.push([left, height - h - 10, left + w + 10, height], [0, 0, 0.36 * width, 30])
  else if (look.caption) {
    const letter = placeLetter(),
      most = (look.tips ? 0.58 : 0.92) * width,
      whole = 0.65 * letter * look.caption.length + 24,
      long = Math.min(whole, most) + 8,
      from = view.narrow && mirror < 0 ? width - long : 0
    over.push([from, height - 1.45 * letter * Math.ceil(whole / most) - 12, from + long, height])
  }
  return over.map(([x0, y0, x1, y1]) => {
    const xs = [x0, x1].map(x => (mirror < 0 ? view.x0 + view.w - k * x : view.x0 + k * x))
    return { x0: Math.min(...xs), x1: Math.max(...xs), y0: view.y1 - k * y1, y1: view.y1 - k * y0 }
  })
}

// The part of the world that is shown. A narrow host gets wrist and hand; a wide one the whole scene.
// `taken` px at the right are for the view from the tips: the picture then shows less of the forearm. Where buttons lie over the
// upper right corner `skin` has the points that are to be seen beside or below them.
export function frame(box, width, height, bench, taken, upper, skin) {
  const aspect = width / Math.max(1, height),
    narrow = width < 520
  if (narrow && bench?.way_mm) return benchInFew(box, width, aspect, bench)
  if (narrow) {
    // The view follows the hand up and down, so that a small picture can be close.
    const aside = taken ? 84 : 0
    let w = Math.max(292, box.x1 + 90) + aside
    const k = w / width,
      edge = w - 72 - aside - k * BUTTONS_PX[0]
    let top = box.y1 + 7
    for (const p of skin ?? []) top = Math.max(top, p[1] + k * BUTTONS_PX[1] - 2 * Math.max(0, edge - p[0]))
    const h = Math.max(w / aspect, top - box.y0 + 7)
    w = h * aspect
    const mid = (0.85 * (box.y0 + box.y1)) / 2
    const cy = clamp(mid, top - h / 2, Math.max(box.y0 - 7 + h / 2, top - h / 2))
    const x0 = -72 - aside - 0.35 * Math.max(0, w - 292 - aside)
    return { narrow, x0, y1: cy + h / 2, w, h, tableY: Math.min(TABLE_MM, box.y0 - 6), open: w }
  }
  const tableY = Math.min(TABLE_MM, box.y0 - 6),
    top = Math.max(upper ? 160 : 132, box.y1 + 8)
  // On a bench the whole way is in view: the arm moves along it, and all else stands still.
  const way = bench?.way_mm ?? 0,
    whole = 464 + (upper ? 74 : 0)
  let h = top - tableY + (bench ? 24 : 14),
    w = Math.max(h * aspect, whole + way)
  h = w / aspect
  const spare = w - whole - way,
    cut = taken ? Math.min(120, (taken * w) / width - Math.min(spare, 40)) : 0
  return {
    narrow,
    upper: Boolean(upper),
    x0: -231 - (upper ? 74 : 0) - Math.max(0, spare - 130) - (bench?.at_mm ?? 0) + cut,
    y1: top + 0.5 * Math.max(0, h - (top - tableY + (bench ? 24 : 14))),
    w,
    h,
    tableY,
    open: w * (1 - taken / width),
    cut,
  }
}

// A bench on a small picture: the hand, what it goes to and the place for it are all in view, the forearm is not.
function benchInFew(box, width, aspect, bench) {
  const tableY = Math.min(TABLE_MM, box.y0 - 6),
    top = Math.max(66, box.y1 + 8),
    least = 290 + bench.way_mm,
    under = Math.max(24, (1.5 * placeLetter() * least) / width)
  const w = Math.max(least, (top - tableY + under) * aspect),
    h = w / aspect
  return { narrow: true, benched: true, x0: -72 - (bench.at_mm ?? 0), y1: tableY - under + h, w, h, tableY, open: w }
}

export function drawFrame(n, view, width, mirror, look = {}) {
  const key = [
    view.x0,
    view.y1,
    view.w,
    view.h,
    mirror,
    view.tableY,
    view.narrow,
    view.flip,
    Number(look.forearm === 'neutral'),
    Number(Boolean(look.rests)),
  ]
    .map(v => +(+v).toFixed(2))
    .join()
  if (n.viewKey === key) return
  n.viewKey = key
  const x0 = mirror < 0 ? -view.x0 - view.w : view.x0
  n.svg.setAttribute('viewBox', `${num(x0)} ${num(-view.y1)} ${num(view.w)} ${num(view.h)}`)
  n.world.setAttribute('transform', `scale(${mirror} 1)`)
  n.turned.setAttribute('transform', `scale(1 ${view.flip})`)
  n.object.setAttribute('transform', `scale(1 ${view.flip})`)
  const bottom = view.y1 - view.h
  const seen = view.narrow ? 'hidden' : 'visible'
  // With the thumb up the picture is seen from above: the table lies behind all of it.
  const above = look.forearm === 'neutral'
  put(n.rest, { visibility: above || look.rests ? 'hidden' : seen })
  for (const stop of n.fadeStops)
    put(stop, {
      style: `stop-color:${above ? `color-mix(in srgb, ${color('sel')} 70%, ${color('surface')})` : color('surface')}`,
    })
  put(n.tableLine, { visibility: above ? 'hidden' : 'visible' })
  if (above) put(n.table, { x: num(view.x0 - 5), y: num(-view.y1 - 2), width: num(view.w + 10), height: num(view.h + 4) })
  else
    put(n.table, {
      x: num(view.x0 - 5),
      y: num(-view.tableY),
      width: num(view.w + 10),
      height: num(Math.max(0, view.tableY - bottom + 2)),
    })
  put(n.tableLine, { d: `M${num(view.x0 - 5)} ${num(-view.tableY)}h${num(view.w + 10)}` })
  const left = Math.max(view.x0, -FOREARM_MM) - 6
  put(n.fade, { x: num(left), y: -90, width: view.narrow ? 36 : 52, height: 180 })
}
