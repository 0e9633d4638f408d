// Lengths and names that the parts of the hand's picture share.

import { num } from '../svg.js'

export const TENDONS = ['FDS', 'FDP', 'EDC', 'central', 'terminal']

export const REST = { from: -184, to: -118 }

export const ANGLED = ['wrist', 'MCP', 'PIP', 'DIP']

export const ARC_MM = [34, 36, 26, 20]

// Back of the upper arm down to the elbow, on the page's own axes: it rises behind the forearm's end.
export const upperArm = under =>
  `M-286 -176C-290 -110 -286 -46 -266 0C-254 ${num(0.64 * under)} -240 ${num(0.94 * under)} -214 ${under}`

export const UPPER_INNER = 'C-187 -70 -190 -110 -192 -176'

export const UPPER_MM = 300

// The table that forearm and palm lie on; its front edge is behind the thumb.
export const SLAB = { edge: 70, thick: 13, under: 20 }

// Where the page shows the hand from afar, its numbers are as large as the plot's; on the wall a share of its height.
export const largest = () => {
  if (document.querySelector('.wall')) return 0.042 * innerHeight
  return document.documentElement.hasAttribute('data-show')
    ? 1.5 * parseFloat(getComputedStyle(document.documentElement).fontSize)
    : 0
}
