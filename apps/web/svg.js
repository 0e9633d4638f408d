// SVG by hand: one node, its attributes, numbers short enough for a path.

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
