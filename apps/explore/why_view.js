// Why the opening changed: what each mechanism gave or took, as bars from the opening before to the one after.

import { element } from '../web/element.js'

export function render({ model }) {
  const root = element('div', 'gw gw-why')
  const finding = element('p'),
    how = element('p', 'how')
  const list = element('ol')
  list.setAttribute('aria-label', 'What each mechanism gave or took')
  const fingers = element('span')
  root.append(finding, how, list)
  // A cause that is touched shows its tendons on the hand; touched again, or another change, and they go.
  const button = (text, lit, said) => {
    const b = element('button', '', text)
    b.type = 'button'
    b.dataset.lit = lit
    b.setAttribute('aria-pressed', String(model.lit === lit))
    if (said) b.setAttribute('aria-label', said)
    b.addEventListener('click', () => {
      model.lit = model.lit === lit ? '' : lit
    })
    return b
  }

  const draw = () => {
    const rows = model.rows
    const ends = rows.flatMap(row => [row.from_mm, row.to_mm])
    const least = Math.min(0, ...ends),
      low = least < -0.5 ? least : 0,
      high = Math.max(1, ...ends)
    const x = mm => (100 * (mm - low)) / (high - low)
    list.replaceChildren(
      ...rows.map((row, i) => {
        const li = element('li', row.kind + (row.kind === 'end' && i === 0 ? ' first' : ''))
        const words = element('span', 'words', row.lit ? '' : row.words)
        if (row.lit) words.append(button(row.words, row.lit, `${row.said} Show the tendons.`))
        const lane = element('span', 'lane' + (low < 0 ? ' low' : ''))
        const bar = element('span', 'bar'),
          number = element('span', 'number', row.number)
        const left = x(Math.min(row.from_mm, row.to_mm)),
          right = x(Math.max(row.from_mm, row.to_mm))
        bar.style.left = `${left}%`
        bar.style.width = `${right - left}%`
        const zero = element('span', 'zero')
        zero.style.left = `${x(0)}%`
        lane.append(zero)
        // Each step starts where the one above ended: a thin line from bar to bar, half of it in each row.
        const tie = (side, mm) => {
          const line = element('span', `tie ${side}`)
          line.style.left = `${x(mm)}%`
          lane.append(line)
        }
        if (i > 0) tie('up', rows[i - 1].to_mm)
        if (i < rows.length - 1) tie('down', row.to_mm)
        lane.append(bar, number)
        // A loss has its number where it came from nothing: on the left, unless the edge is too near.
        const before = row.kind === 'loss' && left > 30 && (left > x(0) + 30 || right <= x(0) + 1)
        if (before) number.classList.add('before')
        number.style.left = before ? `${left}%` : `calc(${right}% + 2px)`
        // Bars, and words that are no button, are hidden from those who hear: the sentence says both.
        const heard = element('span', 'vh', row.said)
        for (const part of [lane, row.lit ? heard : words]) part.setAttribute('aria-hidden', 'true')
        li.append(words, lane, heard)
        return li
      }),
    )
  }
  const say = () => {
    finding.textContent = model.text
    fingers.textContent = model.fingers
    how.replaceChildren(model.how, ' ')
    how.hidden = !model.how && !model.fingers
    if (model.how_lit) how.append(button('Show it on the hand', model.how_lit), ' ')
    how.append(fingers)
  }
  model.on('lit', () => {
    for (const b of root.querySelectorAll('button')) b.setAttribute('aria-pressed', String(b.dataset.lit === model.lit))
  })
  for (const p of ['how', 'how_lit']) model.on(p, say)
  model.on('rows', draw)
  model.on('text', say)
  model.on('fingers', say)
  say()
  draw()
  return root
}
