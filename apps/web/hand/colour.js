// Colours of a picture: a token of the look, or what it is where no page says so; one colour mixed with another.

import { FALLBACK } from '../given.js'

export const color = name => `var(--${name}, ${FALLBACK[name]})`

export function mixHex(a, b, f) {
  const part = (h, i) => parseInt(h.slice(1 + 2 * i, 3 + 2 * i), 16)
  return `rgb(${[0, 1, 2].map(i => Math.round(part(a, i) * (1 - f) + part(b, i) * f)).join(',')})`
}
