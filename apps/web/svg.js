// SVG by hand: one node, its attributes, its colours, numbers short enough for a path, and curves through points.

import { FALLBACK } from './given.js'

const SVG_NS = 'http://www.w3.org/2000/svg'

export function make(parent, tag, attrs = {}) {
  const node = document.createElementNS(SVG_NS, tag)
  for (const [k, v] of Object.entries(attrs)) node.setAttribute(k, v)
  parent.appendChild(node)
  return node
}

// Writing only what changed keeps a still picture free of work.
export function put(node, attrs) {
  const old = node.gw ?? (node.gw = {})
  for (const k in attrs)
    if (old[k] !== attrs[k]) {
      old[k] = attrs[k]
      node.setAttribute(k, attrs[k])
    }
}

export const num = v => Math.round(v * 100) / 100

// A point as path text; y turns over because pages count downwards.
export const xy = p => `${num(p[0])} ${num(-p[1])}`

export function clamp(x, low, high) {
  return x < low ? low : x > high ? high : x
}

// A token of the look, or what it is where no page says so.
export const color = name => `var(--${name}, ${FALLBACK[name]})`

// One colour mixed with another.
export function mixHex(a, b, f) {
  const part = (h, i) => parseInt(h.slice(1 + 2 * i, 3 + 2 * i), 16)
  return `rgb(${[0, 1, 2].map(i => Math.round(part(a, i) * (1 - f) + part(b, i) * f)).join(',')})`
}

// ---- curves through points: as cubics, as points on them, as text of a path ------------------------------------------

function dropNear(points) {
  const out = [points[0]]
  for (let i = 1; i < points.length; i++) {
    const a = out[out.length - 1],
      b = points[i]
    if (Math.abs(a[0] - b[0]) + Math.abs(a[1] - b[1]) > 0.25 && Math.hypot(a[0] - b[0], a[1] - b[1]) > 0.25) out.push(b)
  }
  return out
}

// Centripetal Catmull-Rom curve as cubics: [x, y, then six numbers a segment].
export function spline(raw) {
  const p = dropNear(raw),
    n = p.length,
    out = [p[0][0], p[0][1]]
  if (n < 2) return out
  for (let i = 0; i < n - 1; i++) {
    const p1 = p[i],
      p2 = p[i + 1]
    const p0 = i > 0 ? p[i - 1] : [2 * p1[0] - p2[0], 2 * p1[1] - p2[1]]
    const p3 = i < n - 2 ? p[i + 2] : [2 * p2[0] - p1[0], 2 * p2[1] - p1[1]]
    const s1 = Math.hypot(p1[0] - p0[0], p1[1] - p0[1]),
      s2 = Math.hypot(p2[0] - p1[0], p2[1] - p1[1])
    const s3 = Math.hypot(p3[0] - p2[0], p3[1] - p2[1])
    const d1 = Math.sqrt(s1),
      d2 = Math.sqrt(s2),
      d3 = Math.sqrt(s3)
    const k1 = 2 * s1 + 3 * d1 * d2 + s2,
      m1 = 3 * d1 * (d1 + d2),
      k2 = 2 * s3 + 3 * d3 * d2 + s2,
      m2 = 3 * d3 * (d3 + d2)
    out.push(
      (s1 * p2[0] - s2 * p0[0] + k1 * p1[0]) / m1,
      (s1 * p2[1] - s2 * p0[1] + k1 * p1[1]) / m1,
      (s3 * p1[0] - s2 * p3[0] + k2 * p2[0]) / m2,
      (s3 * p1[1] - s2 * p3[1] + k2 * p2[1]) / m2,
      p2[0],
      p2[1],
    )
  }
  return out
}

// Points on a curve, `per` a segment.
export function sample(curve, per) {
  const out = [[curve[0], curve[1]]]
  for (let i = 2; i < curve.length; i += 6) {
    const x0 = curve[i - 2],
      y0 = curve[i - 1]
    for (let k = 1; k <= per; k++) {
      const t = k / per,
        u = 1 - t,
        a = u * u * u,
        b = 3 * u * u * t,
        c = 3 * u * t * t,
        d = t * t * t
      out.push([
        a * x0 + b * curve[i] + c * curve[i + 2] + d * curve[i + 4],
        a * y0 + b * curve[i + 1] + c * curve[i + 3] + d * curve[i + 5],
      ])
    }
  }
  return out
}

// SVG path text; y turns over because pages count downwards.
export function pathText(curve) {
  let text = `M${Math.round(curve[0] * 100) / 100} ${Math.round(curve[1] * -100) / 100}C`
  for (let i = 2; i < curve.length; i += 2)
    text += `${Math.round(curve[i] * 100) / 100} ${Math.round(curve[i + 1] * -100) / 100} `
  return text
}

export function lineText(points) {
  let text = 'M'
  for (const p of points) text += `${Math.round(p[0] * 100) / 100} ${Math.round(p[1] * -100) / 100} `
  return text
}

// The same curve hanging in waves: a slack slip has length to spare. Returns points.
export function slackLine(curve, slackMm, waves) {
  const line = sample(curve, 6),
    size = Math.min(2.4, 1.3 * slackMm),
    reach = [0]
  for (let i = 1; i < line.length; i++)
    reach.push(reach[i - 1] + Math.hypot(line[i][0] - line[i - 1][0], line[i][1] - line[i - 1][1]))
  const total = reach[reach.length - 1],
    out = [],
    steps = waves * 7
  let j = 1
  for (let k = 0; k <= steps; k++) {
    const f = k / steps,
      d = f * total
    while (j < line.length - 1 && reach[j] < d) j++
    const a = line[j - 1],
      b = line[j],
      span = reach[j] - reach[j - 1] || 1e-9,
      g = clamp((d - reach[j - 1]) / span, 0, 1)
    const ease = Math.min(1, 5 * f, 5 * (1 - f)),
      lift = size * ease * Math.sin(2 * Math.PI * waves * f)
    out.push([a[0] + (b[0] - a[0]) * g - (lift * (b[1] - a[1])) / span, a[1] + (b[1] - a[1]) * g + (lift * (b[0] - a[0])) / span])
  }
  return out
}

export function walk(line, index, fraction, distance) {
  let i = index,
    f = fraction,
    left = distance
  while (i < line.length - 1) {
    const dx = line[i + 1][0] - line[i][0],
      dy = line[i + 1][1] - line[i][1],
      size = Math.hypot(dx, dy) || 1e-9
    if ((1 - f) * size >= left) return [line[i][0] + dx * (f + left / size), line[i][1] + dy * (f + left / size)]
    left -= (1 - f) * size
    i += 1
    f = 0
  }
  return line[line.length - 1]
}
