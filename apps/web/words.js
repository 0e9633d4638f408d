// Text: its size on this page, its width, and how numbers and pictures are said.

const root = document.documentElement
const pen = document.createElement('canvas').getContext('2d')
const known = new Map()

// On the wall all sizes are a share of its height, lines and dots too: its plots are drawn as on one of 720 px and enlarged.
const WALL_PX = 720
export const enlarged = () => (document.querySelector('.wall') ? innerHeight / WALL_PX : 1)

// Body text of plots in px; larger on the wall, where it is read from afar: tick numbers, nine tenths of this, are 3.5 % of it.
export function textSize() {
  if (document.querySelector('.wall')) return 0.0392 * WALL_PX
  const rem = parseFloat(getComputedStyle(root).fontSize) || 16
  return rem * (root.dataset.layout === 'wall' && !document.querySelector('.control') ? 1.19 : 0.93)
}

export function textWidth(text, px, weight = 450) {
  const key = `${weight}|${text}`
  if (!known.has(key)) {
    if (known.size > 2000) known.clear()
    pen.font = `${weight} 100px "Atkinson Hyperlegible Next", system-ui, sans-serif`
    known.set(key, pen.measureText(text).width / 100)
  }
  return known.get(key) * px
}
document.fonts?.ready.then(() => {
  known.clear()
  window.dispatchEvent(new Event('gwt-font'))
})

export const unitText = axis => (axis.unit ? `${axis.name} [${axis.unit}]` : axis.name)
export const said = P =>
  [P.title, P.text]
    .filter(Boolean)
    .map(t => t.trim().replace(/([^.?])$/, '$1.'))
    .join(' ')
