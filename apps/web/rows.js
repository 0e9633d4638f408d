// Bars from zero and time lines of lanes: lists of words and numbers that can be heard, each with its bar.

import { make, num } from './svg.js'
import { element } from './element.js'
import { number, signed } from './numbers.js'

function words(node, row) {
  if (row.html) node.innerHTML = row.html
  else node.textContent = row.label
  return node
}

export function barsPicture(draw, P) {
  const list = element('ul', 'gwt-rows')
  draw.append(list)
  const paint = () => {
    list.replaceChildren()
    let at = 0,
      low = 0,
      high = 0
    const spans = P.rows.map(r => {
      const steps = r.as === 'gain' || r.as === 'loss'
      const from = steps ? at : 0,
        to = steps ? at + r.value : r.value
      at = to
      low = Math.min(low, from, to)
      high = Math.max(high, from, to)
      return [from, to]
    })
    const share = v => (100 * (v - low)) / (high - low || 1)
    const digits = P.digits ?? (Math.max(...P.rows.map(r => Math.abs(r.value)), 0) < 10 ? 1 : 0)
    const fill = P.quantity ? `var(--${P.quantity}-f)` : 'var(--ink)'
    P.rows.forEach((r, i) => {
      const item = element('li', r.as),
        [from, to] = spans[i],
        a = share(Math.min(from, to)),
        b = share(Math.max(from, to))
      item.append(words(element('span', 'gwt-row-words'), r))
      const svg = make(item, 'svg', { class: 'gwt-bar', 'aria-hidden': 'true', width: '100%', height: '100%' })
      const hollow = r.as === 'loss'
      make(svg, 'rect', {
        x: `${num(a)}%`,
        y: '14%',
        width: `${num(Math.max(0.4, b - a))}%`,
        height: '72%',
        rx: 2,
        'stroke-width': 3,
        style: `fill:${hollow ? 'var(--surface)' : fill};stroke:${fill}`,
      })
      // where the step before ended, so that the eye can follow
      if (r.as === 'gain' || r.as === 'loss')
        make(svg, 'line', {
          x1: `${num(share(from))}%`,
          x2: `${num(share(from))}%`,
          y1: '-14%',
          y2: '86%',
          'stroke-width': 1.5,
          style: 'stroke:var(--edge)',
        })
      make(svg, 'line', {
        x1: `${num(share(0))}%`,
        x2: `${num(share(0))}%`,
        y1: 0,
        y2: '100%',
        'stroke-width': 1.5,
        style: 'stroke:var(--edge)',
      })
      const value = element(
        'b',
        'gwt-value',
        r.shown ?? (r.as === 'gain' || r.as === 'loss' ? signed(r.value, digits) : number(r.value, digits)),
      )
      if (P.unit) value.append(` ${P.unit}`)
      item.append(value)
      list.append(item)
    })
    list.style.setProperty('--rows', P.rows.length)
    list.style.setProperty('--q', P.quantity ? `var(--${P.quantity}-t)` : 'var(--ink)')
  }
  paint()
  return {
    update(next) {
      P = next
      paint()
    },
    destroy() {
      list.remove()
    },
  }
}

// Every phase has a lane and its word: nothing hangs on colour.
export function stripsPicture(draw, P) {
  const box = element('div', 'gwt-strips')
  draw.append(box)
  const paint = () => {
    box.replaceChildren()
    const last = Math.max(...P.strips.flatMap(s => Object.values(s.parts).flatMap(own => own.map(p => p[1]))), 1e-9)
    const step = [0.25, 0.5, 1, 2, 5, 10, 15, 30, 60].find(k => last / k <= 6.5) ?? 60
    for (const s of P.strips) {
      const part = element('section', 'gwt-strip'),
        head = element('p', 'gwt-strip-head')
      head.append(element('b', '', `${s.label}:`))
      if (s.tally) head.append(` ${s.tally}`)
      part.append(head)
      const list = element('ul', 'gwt-lanes')
      for (const phase of P.phases) {
        const own = s.parts[phase] ?? [],
          total = s.minutes?.[phase] ?? own.reduce((sum, [from, to]) => sum + to - from, 0),
          item = element('li')
        const on = phase === 'current on'
        item.append(element('span', 'gwt-row-words', phase))
        const svg = make(item, 'svg', { class: 'gwt-bar', 'aria-hidden': 'true', width: '100%', height: '100%' })
        make(svg, 'line', { x1: 0, x2: '100%', y1: '100%', y2: '100%', 'stroke-width': 1, style: 'stroke:var(--line)' })
        for (const [from, to] of own)
          make(svg, 'rect', {
            x: `${num((100 * from) / last)}%`,
            y: '12%',
            width: `${Math.max(0.25, num((100 * (to - from)) / last))}%`,
            height: '88%',
            style: `fill:var(--${on ? 'current-f' : 'ink'})`,
          })
        const value = element(
          'b',
          on ? 'gwt-value current' : 'gwt-value',
          s.shown?.[phase] ?? number(total, total > 0 && total < 10 ? 1 : 0),
        )
        value.append(` ${P.unit ?? 'min'}`)
        item.append(value)
        list.append(item)
      }
      part.append(list)
      const axis = element('div', 'gwt-strip-axis'),
        ruler = make(axis, 'svg', { 'aria-hidden': 'true', width: '100%', height: '1.35em' })
      for (let v = 0; v <= last * 1.001; v += step) {
        const x = (100 * v) / last
        make(ruler, 'line', {
          x1: `${num(x)}%`,
          x2: `${num(x)}%`,
          y1: 0,
          y2: 5,
          'stroke-width': 1.3,
          style: 'stroke:var(--edge)',
        })
        const t = make(ruler, 'text', {
          x: `${num(x)}%`,
          y: '1.15em',
          'text-anchor': x < 2 ? 'start' : x > 97 ? 'end' : 'middle',
          style: 'fill:var(--ink2);font-size:.9em',
        })
        t.textContent = number(v, step % 1 ? 1 : 0)
      }
      part.append(axis)
      box.append(part)
    }
    box.append(element('p', 'gwt-unit', `Time [${P.unit ?? 'min'}]`))
  }
  paint()
  return {
    update(next) {
      P = next
      paint()
    },
    destroy() {
      box.remove()
    },
  }
}

export function wordsPicture(draw, P) {
  const list = element('ul', 'gwt-words')
  draw.append(list)
  const paint = () => {
    list.replaceChildren(
      ...P.lines.map(html => {
        const li = element('li')
        li.innerHTML = html
        return li
      }),
    )
  }
  paint()
  return {
    update(next) {
      P = next
      paint()
    },
    destroy() {
      list.remove()
    },
  }
}
