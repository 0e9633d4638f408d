// Lines against two axes: names with units at the ends, words on the lines, one present point, a cover over what is not yet
// shown.

import { element } from './element.js'
import { clamp, color, make, num } from './svg.js'
import { digitsFor, number } from './numbers.js'

import { GRID, drawn, guessOf, key, told } from './guesses.js'
import { keepClear, nameLines } from './plot_words.js'
import { drawPlace, ownLine, putBands, putCover, putLevels, putLines, putPoints, putTags, tagBoxes } from './plot_marks.js'
import { axes, extent, layOut, scales, text } from './plot_axes.js'

const rounded = v => Number(v.toPrecision(4))

export function linesPicture(draw, P, o = {}) {
  const view = { P, o }
  view.svg = make(draw, 'svg', { class: 'gwt-svg', role: 'img' })
  view.keys = element('div', 'gwt-keys')
  draw.after(view.keys)
  view.geometry = null
  view.alive = true
  view.place = view.o.place ?? null
  view.drag = null

  listen(draw, view)

  view.rows = []

  const sizer = new ResizeObserver(() => paint(draw, view))
  sizer.observe(draw)
  paint(draw, view)
  build(draw, view)
  return {
    svg: view.svg,
    paint: () => paint(draw, view),
    update(next, options = {}) {
      view.P = next
      if ('place' in options) view.place = options.place
      paint(draw, view)
      build(draw, view)
    },
    destroy() {
      view.alive = false
      sizer.disconnect()
      view.svg.remove()
      view.keys.remove()
    },
  }
}

function paint(draw, view) {
  const g = {}
  if (!view.alive) return
  layOut(draw, view, g)
  ;({
    x: [g.x0, g.x1],
    y: [g.y0, g.y1],
  } = extent(view.P))

  g.halo = `;stroke:${color('surface')};stroke-width:${num(g.px * 0.3)};paint-order:stroke;stroke-linejoin:round`

  measure(view, g)
  axes(view, g)
  g.taken = [...g.tags]

  g.layer = {}
  for (const k of ['bands', 'levels', 'lines', 'cover', 'mine', 'points', 'words', 'tags']) g.layer[k] = make(view.svg, 'g')

  g.covered = view.P.covered
    ? (view.P.cover_from ?? (view.P.lines.length ? Math.max(...view.P.lines.flatMap(l => l.x)) : g.x0))
    : null
  if (g.covered !== null)
    for (let i = 0; i <= 12; i++)
      for (let k = 0; k <= 12; k++)
        g.cloud.push([g.X(g.covered + ((g.x1 - g.covered) * i) / 12), g.top + ((g.bottom - g.top) * k) / 12, -2])

  g.drawable = view.P.covered && key(view) !== null

  putCover(view, g)

  putBands(view, g)

  putLevels(view, g)

  putLines(view, g)
  nameLines(view, g)

  g.coverWords?.lines.forEach((line, i) =>
    text(g, g.layer.words, line, g.coverWords.x, g.coverWords.y + i * g.px * 1.25 + g.px * 0.3, {
      anchor: 'middle',
      token: 'ink',
      weight: 600,
      halo: false,
    }),
  )

  ownLine(view, g)

  putPoints(view, g)
  putTags(g)
  if (view.place) drawPlace(view, g)
}

// Scales, what words must keep clear of, and the tags of the present point: one that stands outside wants a wider margin.
function measure(view, g) {
  const lay = () => {
    scales(view, g)
    g.cloud = []
    keepClear(view, g)
  }
  lay()
  g.present = (view.P.points ?? []).find(p => p.present)
  g.tags = g.present ? tagBoxes(view, g, g.present) : []
  const up = g.tags[1]
  if (!up?.outside) return
  g.margin = up.w + 3
  lay()
  g.tags = tagBoxes(view, g, g.present)
  Object.assign(g.tags[1], { x: g.left - up.w - 2, outside: true })
}

function active(view) {
  return view.place && !view.place.locked ? 'place' : key(view) !== null && view.P.covered ? 'guess' : null
}

function point(view, e) {
  const box = view.svg.getBoundingClientRect(),
    g = view.geometry
  return {
    x: clamp(g.x0 + ((e.clientX - box.left - g.left) / (g.right - g.left)) * (g.x1 - g.x0), g.x0, g.x1),
    y: clamp(g.y0 + ((g.bottom - (e.clientY - box.top)) / (g.bottom - g.top)) * (g.y1 - g.y0), g.y0, g.y1),
  }
}

function setPlace(draw, view, at) {
  view.place = { ...view.place, value: { x: rounded(at.x), y: view.P.place === 'xy' ? rounded(at.y) : null } }
  paint(draw, view)
  fields(view)
  view.place.onchange?.(view.place.value)
}

function setGuess(draw, view, from, to) {
  const line = guessOf(view) ?? Array(GRID + 1).fill(null),
    g = view.geometry
  const bin = x => Math.round(((x - g.x0) / (g.x1 - g.x0)) * GRID)
  const a = bin(from.x),
    b = bin(to.x)
  for (let i = Math.min(a, b); i <= Math.max(a, b); i++) line[i] = a === b ? to.y : from.y + ((to.y - from.y) * (i - a)) / (b - a)
  drawn.set(key(view), line)
  paint(draw, view)
  view.o.onguess?.(line)
}

function range(label, axis, [low, high], value, onset) {
  const row = element('label'),
    input = element('input'),
    out = element('output')
  out.setAttribute('aria-live', 'off')
  const step = 10 ** Math.floor(Math.log10((high - low) / 40))
  Object.assign(input, { type: 'range', min: low, max: high, step, value })
  const words = () => {
    out.textContent = `${number(Number(input.value), digitsFor(step))}${axis.unit ? ` ${axis.unit}` : ''}`
    input.setAttribute('aria-valuetext', out.textContent)
  }
  words()
  input.addEventListener('input', () => {
    words()
    onset(Number(input.value))
  })
  const name = element('span', '', label)
  row.append(name, input, out)
  row.set = v => {
    input.value = v
    words()
  }
  return row
}

function fields(view) {
  if (!view.place?.value || !view.rows.length) return
  view.rows[0].set(view.place.value.x)
  view.rows[1]?.set(view.place.value.y)
}

function build(draw, view) {
  const what = active(view)
  view.svg.style.touchAction = what ? 'none' : ''
  view.svg.style.cursor = what ? 'crosshair' : ''
  if (view.drag) return
  view.keys.replaceChildren()
  view.rows = []
  if (!what || !view.geometry) return
  const { x0, x1, y0, y1 } = view.geometry,
    mid = { x: (x0 + x1) / 2, y: (y0 + y1) / 2 }
  if (what === 'place') {
    const at = () => view.place.value ?? mid
    view.rows = [range(view.P.x.name, view.P.x, [x0, x1], at().x, x => setPlace(draw, view, { ...mid, ...at(), x }))]
    if (view.P.place === 'xy')
      view.rows.push(range(view.P.y.name, view.P.y, [y0, y1], at().y, y => setPlace(draw, view, { ...mid, ...at(), y })))
    view.keys.append(...view.rows)
    return
  }
  const fold = element('details'),
    head = element('summary'),
    wipe = element('button')
  head.textContent = 'Draw by keys'
  Object.assign(wipe, { type: 'button', textContent: 'Wipe my line', disabled: !guessOf(view) })
  wipe.addEventListener('click', () => {
    drawn.delete(key(view))
    paint(draw, view)
    build(draw, view)
    told()
    view.o.onguess?.(null)
  })
  let at = { ...mid }
  const first = range(`At ${view.P.x.name.toLowerCase()}`, view.P.x, [x0, x1], x0, x => {
    const old = at
    at = { x, y: old.y }
    if (guessOf(view)) setGuess(draw, view, old, at)
    wipe.disabled = !guessOf(view)
  })
  const second = range(view.P.y.name, view.P.y, [y0, y1], mid.y, y => {
    at = { x: at.x, y }
    setGuess(draw, view, at, at)
    told()
    wipe.disabled = false
  })
  at.x = x0
  fold.append(head, first, second)
  view.keys.append(wipe, fold)
}

function listen(draw, view) {
  view.svg.addEventListener('pointerdown', e => {
    const what = active(view)
    if (!what || e.button) return
    view.svg.setPointerCapture(e.pointerId)
    view.drag = { what, last: point(view, e) }
    if (what === 'place') setPlace(draw, view, view.drag.last)
    else setGuess(draw, view, view.drag.last, view.drag.last)
    e.preventDefault()
  })
  view.svg.addEventListener('pointermove', e => {
    if (!view.drag) return
    const now = point(view, e)
    if (view.drag.what === 'place') setPlace(draw, view, now)
    else setGuess(draw, view, view.drag.last, now)
    view.drag.last = now
  })
  for (const end of ['pointerup', 'pointercancel'])
    view.svg.addEventListener(end, () => {
      if (view.drag) {
        view.drag = null
        build(draw, view)
        told()
      }
    })
}
