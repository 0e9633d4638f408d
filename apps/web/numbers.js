// The one way to write a number: with a minus sign, never as minus nought.

export const digitsFor = step => Math.max(0, Math.min(4, -Math.floor(Math.log10(step) + 1e-9)))
export const number = (v, digits = 0) =>
  v
    .toFixed(digits)
    .replace('-', '\u2212')
    .replace(/^\u2212(0(?:\.0*)?)$/, '$1')
export const signed = (v, digits = 0) => (Number(v.toFixed(digits)) > 0 ? '+' : '') + number(v, digits)
