const SHEET = `
.gw-why { display: grid; gap: 10px; }
.gw-why p { text-wrap: pretty; }
.gw-why ol { list-style: none; margin: 0; padding: 0; display: grid; grid-template-columns: minmax(0, max-content) minmax(0, 1fr); row-gap: 4px; }
.gw-why li { display: grid; grid-template-columns: subgrid; grid-column: 1 / -1; align-items: center; column-gap: 12px; min-height: 22px; font-size: .93rem; line-height: 1.2; }
.gw-why li.end { font-weight: 700; }
.gw-why .words { text-align: right; max-width: 11.5rem; text-wrap: balance; }
.gw-why .lane { position: relative; align-self: stretch; margin: 0 4.3rem 0 0; }
.gw-why .lane.low { margin-left: 2.6rem; }
.gw-why .bar { position: absolute; top: 50%; height: 16px; margin-top: -8px; min-width: 3px; border: 2px solid var(--opening-t); border-radius: 2px; background: var(--surface); }
.gw-why .gain .bar { background: var(--opening-f); border-color: var(--opening-f); }
.gw-why .end .bar { background: var(--opening-f); border-color: var(--opening-f); border-radius: 0 2px 2px 0; }
.gw-why .end.first .bar { opacity: .55; }
.gw-why .tie { position: absolute; border-left: 1px solid var(--ink2); }
.gw-why .tie.up { top: -2px; bottom: calc(50% + 8px); }
.gw-why .tie.down { top: calc(50% + 8px); bottom: -2px; }
.gw-why .zero { position: absolute; top: -2px; bottom: -2px; border-left: 1px solid var(--edge); }
.gw-why .number { position: absolute; top: 50%; transform: translateY(-50%); padding: 0 6px; color: var(--opening-t); font-weight: 700; white-space: nowrap; }
.gw-why .number.before { transform: translate(-100%, -50%); }
@container (max-width: 24rem) { .gw-why .words { max-width: 8.2rem; } .gw-why li { column-gap: 8px; } }
.gw-why ol:empty { display: none; }
`
const make = (tag, name, text) => {
  const node = document.createElement(tag)
  if (name) node.className = name
  if (text !== undefined) node.textContent = text
  return node
}
export function render({model}) {
  const root = make('div', 'gw gw-why')
  const sheet = make('style', '', SHEET)
  const finding = make('p')
  const list = make('ol')
  list.setAttribute('aria-label', 'What each mechanism gave or took')
  const fingers = make('p')
  root.append(sheet, finding, fingers, list)

  const draw = () => {
    const rows = model.rows
    const ends = rows.flatMap(row => [row.from_mm, row.to_mm])
    const least = Math.min(0, ...ends), low = least < -0.5 ? least : 0, high = Math.max(1, ...ends)
    const x = mm => 100 * (mm - low) / (high - low)
    list.replaceChildren(...rows.map((row, i) => {
      const li = make('li', row.kind + (row.kind === 'end' && i === 0 ? ' first' : ''))
      const words = make('span', 'words', row.words)
      const lane = make('span', 'lane' + (low < 0 ? ' low' : ''))
      const bar = make('span', 'bar'), number = make('span', 'number', row.number)
      const left = x(Math.min(row.from_mm, row.to_mm)), right = x(Math.max(row.from_mm, row.to_mm))
      bar.style.left = `${left}%`
      bar.style.width = `${right - left}%`
      const zero = make('span', 'zero')
      zero.style.left = `${x(0)}%`
      lane.append(zero)
      // Each step starts where the one above ended: a thin line from bar to bar, half of it in each row.
      const tie = (side, mm) => {
        const line = make('span', `tie ${side}`)
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
      // Seen words and bars are hidden from those who hear: the sentence says both.
      for (const part of [words, lane]) part.setAttribute('aria-hidden', 'true')
      li.append(words, lane, make('span', 'vh', row.said))
      return li
    }))
  }
  const say = () => { finding.textContent = model.text; fingers.textContent = model.fingers; fingers.hidden = !model.fingers }
  model.on('rows', draw)
  model.on('text', say)
  model.on('fingers', say)
  say()
  draw()
  return root
}
