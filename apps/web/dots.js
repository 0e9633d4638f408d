// How each met a goal, without who: current against opening, the count of changed settings beside the dot; the best drawn last.

import { STRONGEST_MA } from './given.js'
import { element } from './element.js'
import { number } from './numbers.js'
import { linesPicture } from './plot.js'
import { same } from './dom.js'

export function solutions(host, solved, best) {
  const shown = [solved ?? [], best ?? null]
  if (!solved?.length && !best) {
    host.dots?.destroy()
    host.dots = null
    host.hidden = true
    host.replaceChildren()
    return
  }
  host.hidden = false
  if (same(host.shownDots, shown) && host.dots) return
  host.shownDots = shown
  host.dots?.destroy()
  const draw = element('div', 'gwt-draw gwt-lines'),
    cell = element('div', 'gwt-cell')
  cell.append(draw)
  const counts = new Map()
  for (const [ma, mm, changed] of solved ?? []) {
    const k = `${ma}|${mm}|${changed}`
    counts.set(k, (counts.get(k) ?? 0) + 1)
  }
  const points = [...counts].map(([k, n]) => {
    const [x, y, changed] = k.split('|').map(Number)
    return { x, y, label: counts.size > 20 ? '' : n > 1 ? `${changed} (${n} people)` : String(changed) }
  })
  if (Number.isFinite(best?.ma)) points.push({ x: best.ma, y: best.mm, present: true, label: 'least current found' })
  const n = solved?.length ?? 0
  const words = best
    ? Number.isFinite(best.ma)
      ? ` With at most one setting changed the model finds ${number(best.ma, 1)} mA${best.words ? `: ${best.words}` : ', nothing else changed'}.`
      : ' With one setting changed the model finds none that meets it.'
    : ''
  host.replaceChildren(
    element('h3', 'gwt-title', `${n} met the goal`),
    cell,
    element('p', 'gwt-caption dots-words', `Each dot is one way; beside it, how many settings were changed.${words}`),
  )
  host.dots = linesPicture(
    draw,
    {
      title: `${n} met the goal`,
      text: `Currents: ${points.map(p => number(p.x, 1)).join(', ')} mA.${words}`,
      x: { name: 'Current', unit: 'mA', quantity: 'current', low: 0, high: STRONGEST_MA },
      y: { name: 'Opening', unit: 'mm', quantity: 'opening', low: 0, high: Math.max(120, ...points.map(p => p.y)) },
      lines: [],
      points,
    },
    { large: true },
  )
}
