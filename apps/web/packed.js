// Numbers of a file that is carried away: rounded values as whole numbers, each as its difference from the one before, written in
// letters (base 64 of variable length, as source maps have it). `apps/carry/packed.py` writes it; nothing is lost.

const LETTERS = 'ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/'
const VALUE = new Map([...LETTERS].map((letter, i) => [letter, i]))

function integers(text) {
  const out = []
  let value = 0,
    place = 1
  for (const letter of text) {
    const six = VALUE.get(letter)
    value += (six & 31) * place
    place *= 32
    if (six & 32) continue
    out.push(value % 2 ? -(value - 1) / 2 : value / 2)
    value = 0
    place = 1
  }
  return out
}

// A list of numbers, or of lists of the same shape: `shape` is their lengths, the first one the outermost.
function list([digits, shape, text]) {
  const [n, ...inner] = shape,
    across = inner.reduce((a, b) => a * b, 1),
    steps = integers(text),
    scale = 10 ** digits
  const rows = Array.from({ length: n }, () => new Array(across))
  for (let k = 0; k < across; k++) {
    let at = 0
    for (let i = 0; i < n; i++) {
      at += steps[k * n + i]
      rows[i][k] = at / scale
    }
  }
  const nested = (values, lengths) => {
    if (lengths.length < 2) return values
    const size = values.length / lengths[0]
    return Array.from({ length: lengths[0] }, (_, i) => nested(values.slice(i * size, (i + 1) * size), lengths.slice(1)))
  }
  return inner.length ? rows.map(row => nested(row, inner)) : rows.map(row => row[0])
}

// Any value with packed lists in it, whole again.
export function unpacked(value) {
  if (Array.isArray(value)) return value.map(unpacked)
  if (value === null || typeof value !== 'object') return value
  if (value.$) return list(value.$)
  return Object.fromEntries(Object.entries(value).map(([key, of]) => [key, unpacked(of)]))
}
