// What the room said: choices with a square for each answer, bars of what is no choice, the places that were put on a picture.

import { answerWords } from '../answers.js'
import { el, inline, safe, same } from '../dom.js'
import { drawHand, drawPicture } from '../draw.js'
import { fetched } from './pictures.js'

const MOST_SQUARES = 60

export function roomRows(node, view, mode) {
  const { question, answer, bars, mine } = view,
    drawn = []
  const own = mine?.[2] ?? mine?.[1] ?? null
  if (mode === 'alone' && question.choices?.length) {
    others(node, view, own)
    return drawn
  }
  if ((mode === 'learner' || mode === 'alone') && view.phase !== 'reveal') {
    const words = answerWords(question, own?.answer)
    const second = mine?.[2] && mine?.[1] && !same(mine[1].answer, mine[2].answer)
    if (words)
      node.append(
        el(
          'p',
          { class: 'own' },
          second ? `You said first ${answerWords(question, mine[1].answer)}, then ${words}.` : `You said ${words}.`,
        ),
      )
    else if (mode === 'learner')
      node.append(
        el(
          'p',
          { class: 'own' },
          view.shut ? 'You did not answer this one.' : 'You have not answered this one. You can still join in.',
        ),
      )
    if (view.shut && (view.phase === 'vote' || view.phase === 'again'))
      node.append(el('p', { class: 'note' }, 'This vote is closed: its answer has been shown.'))
  }
  const orders = bars && question.kind === 'order'
  // orders are told by their letters, so what the letters mean stands above them
  if (question.choices?.length && !(orders && answer)) {
    const list = el('ul', {
      class: `rows${bars && !orders ? ' counted' : ''}${question.choices.some(c => c.hand) ? ' with-hands' : ''}`,
    })
    node.append(list)
    const right = answer ? [answer.right].flat() : []
    for (const choice of question.choices) {
      const letter = el('span', { class: 'letter' }, choice.key)
      const is = answer && question.kind !== 'order' && right.includes(choice.key)
      const hand = choice.hand ? el('div', { class: 'small-hand', 'aria-hidden': 'true' }) : null
      const row = el(
        'li',
        { class: is ? 'right-one' : '' },
        letter,
        hand,
        el(
          'div',
          { class: 'row-words' },
          el('p', {}, inline(choice.html), is ? [' ', el('span', { class: 'tick' }, '\u2713 computed')] : null),
          bars && !orders ? counts(bars, choice.key, is) : null,
        ),
      )
      list.append(row)
      if (hand) drawn.push(drawHand(hand, choice.hand))
    }
  } else if (question.kind === 'place' && question.on && (mode !== 'wall' || bars || answer))
    drawn.push(...placed(node, view, own))
  else if (bars && !orders) node.append(otherBars(bars, question, answer))
  if (orders) node.append(otherBars(bars, question, answer))
  if (bars) node.append(barNote(bars, answer, mode))
  return drawn
}

// Alone there is nobody to count: what was said, and at the end what is to be said of each choice.
function others(node, { question, answer, phase }, own) {
  const words = answerWords(question, own?.answer)
  if (phase !== 'reveal') {
    node.append(el('p', { class: 'own' }, words ? `You said ${words}.` : 'You made no guess.'))
    return
  }
  const right = [answer?.right].flat()
  const said = [own?.answer?.choice ?? own?.answer?.choices ?? []].flat()
  const rest = question.choices.filter(c => answer?.choices?.[c.key]?.html && (right.includes(c.key) || !said.includes(c.key)))
  if (!rest.length) return
  if (question.kind === 'order') rest.sort((a, b) => right.indexOf(a.key) - right.indexOf(b.key))
  const item = c =>
    el(
      'li',
      {},
      el(
        'p',
        {},
        el('b', {}, `${c.key} `, inline(c.html)),
        right.includes(c.key) && question.kind !== 'order' ? el('span', { class: 'tick' }, ' \u2713') : null,
      ),
      safe(answer.choices[c.key].html, { class: 'md' }),
    )
  node.append(
    el(
      'details',
      {},
      el('summary', {}, question.kind === 'order' ? 'One by one' : 'The other choices'),
      el('ul', { class: 'each-choice' }, rest.map(item)),
    ),
  )
}

// Where this person, the room and the model put it, on one picture.
function placed(node, { question, answer, bars }, own) {
  const box = el('div', { class: 'picture place-picture' }),
    drawn = []
  node.append(box)
  const said = bars?.n_second ? bars.second : bars?.first
  const others = (said?.points ?? []).map(([x, y]) => ({ x, y }))
  const place = { locked: true, value: own?.answer ?? null, right: answer?.right ?? null, others }
  fetched(question.on)
    .then(data => {
      if (box.isConnected) drawn.push(drawPicture(box, data, { place }))
    })
    .catch(() => box.remove())
  return drawn
}

const total = (bars, round) => (round === 2 ? bars.n_second : bars.n_first) ?? 0

function counts(bars, key, is) {
  const after = total(bars, 2) > 0
  const line = (round, words) => {
    const n = (round === 2 ? bars.second : bars.first)?.[key] ?? 0
    return el(
      'div',
      { class: `count-line round-${round}` },
      words ? el('span', { class: 'when' }, words) : null,
      squares(n, { filled: is || round === 2, many: Math.max(total(bars, 1), total(bars, 2)) > 10 }),
      el('b', { class: 'n' }, String(n)),
    )
  }
  return el('div', { class: 'counts' }, after ? [line(1, 'before'), line(2, 'after')] : line(1, ''))
}

// One square a person; past a screenful one square stands for several, and says so.
export function squares(n, { filled = false, most = MOST_SQUARES, of = n, many = Math.max(n, of) > 40 } = {}) {
  const each = Math.max(1, Math.ceil(Math.max(n, of) / most))
  const node = el('span', { class: `squares${filled ? ' filled' : ''}${many ? ' many' : ''}`, 'aria-hidden': 'true' })
  for (let i = 0; i < Math.ceil(n / each); i++) node.append(el('i'))
  for (let i = Math.ceil(n / each); i < Math.ceil(of / each); i++) node.append(el('i', { class: 'open' }))
  if (each > 1) node.append(el('span', { class: 'each' }, `each ${each}`))
  return node
}

function otherBars(bars, question, answer) {
  const list = el('ul', { class: `rows counted${question.kind === 'order' ? ' orders' : ''}` })
  const unit = question.unit ? ` ${question.unit}` : ''
  const right = answer && question.kind === 'order' ? [answer.right].flat().join(',') : null
  const row = (words, key, both) => {
    const is = right !== null && key === right
    list.append(
      el(
        'li',
        { class: is ? 'right-one' : '' },
        el(
          'div',
          { class: 'row-words' },
          el('p', {}, words, is ? [' ', el('span', { class: 'tick' }, '\u2713 computed')] : null),
          counts(both, key, is),
        ),
      ),
    )
  }
  const bins = bars.first?.bins ?? bars.second?.bins
  if (!bins) {
    const name = key => (key === 'other' ? 'in other orders' : key.split(',').join(', '))
    for (const key of new Set([...Object.keys(bars.first ?? {}), ...Object.keys(bars.second ?? {})])) row(name(key), key, bars)
    return list
  }
  // Bins that nobody fell into are left out at both ends, kept between.
  const taken = bins.map((bin, i) => bin[2] + (bars.second?.bins?.[i]?.[2] ?? 0))
  const from = taken.findIndex(n => n > 0),
    to = taken.findLastIndex(n => n > 0)
  const as = side => Object.fromEntries((side?.bins ?? []).map((bin, i) => [i, bin[2]]))
  const both = { ...bars, first: as(bars.first), second: as(bars.second) }
  const short = v => String(Math.round(v * 100) / 100).replace('-', '\u2212')
  bins.forEach(([low, high], i) => {
    if (from >= 0 && i >= from && i <= to) row(`${short(low)} to ${short(high)}${unit}`, i, both)
  })
  return list
}

function barNote(bars, answer, mode) {
  const n1 = total(bars, 1),
    n2 = total(bars, 2)
  const parts = [n2 ? `${n2} answered twice, before the talk and after.` : `${n1} answered.`]
  if (bars.once) parts.push(`${bars.once} more answered once, and are not counted.`)
  if (answer && Number.isFinite(bars.right_first) && n1) {
    const share = (right, n) => `${Math.round((right ?? 0) * n)} of ${n}`
    parts.push(
      n2
        ? `Right: ${share(bars.right_first, n1)} before, ${share(bars.right_second, n2)} after.`
        : `Right: ${share(bars.right_first, n1)}.`,
    )
  }
  return el('p', { class: mode === 'wall' ? 'bar-note' : 'note bar-note' }, parts.join(' '))
}
