// One step of a lesson, as any page shows it: what is told, the question in its form, the room's answers, what the model gives.
// A part is built anew only when what it shows has changed, so a choice that is being made stays under the finger.

import { answerWords, feedback, keepAxes, rightWords } from './answers.js'
import { questionForm } from './ask.js'
import { el, fill, inline, narrow, safe, same } from './dom.js'
import { drawBench, drawHand, drawPicture } from './draw.js'
import { ownLine, ownText } from './own.js'

const PHASES = {
  vote: 'your guess',
  talk: 'talk it over',
  again: 'your guess again',
  bars: 'what the room said',
  look: 'look',
  reveal: 'what the model gives',
}
const MOST_SQUARES = 60
const LINES = { because: 'Because ... (one line, for yourself)', seen: 'What do you see? One line, before you read why' }

// `hooks`: mode ('learner' | 'alone' | 'control' | 'wall'), answer(answer, sure), bench(settings) -> LIVE,
// benchChanged(settings),
// bar (where what sends stands on a phone), steps() (opens the list of steps).
// `view` is the server's view with what the page adds: mine {1, 2}, sent {state, words}, bars, sendWords, benchSettings.
export function renderStep(host, view, hooks = {}) {
  const step = host.step ?? (host.step = new Step(host))
  step.show(view, hooks)
  return step
}

class Step {
  constructor(host) {
    this.host = host
    this.parts = new Map()
    this.alive = new Map()
    this.told = el('div', { class: 'told' })
    this.asked = el('div', { class: 'asked' })
    host.classList.add('step')
  }

  // Builds a part when its key is new: `make` gets the part's node and may return what is to be ended before the next.
  part(name, where, key, make, tag = 'div') {
    let part = this.parts.get(name)
    if (!part) this.parts.set(name, (part = { node: el(tag, { class: `part part-${name}` }), key: undefined }))
    if (part.node.parentElement !== where) where.append(part.node)
    const text = key === null ? null : JSON.stringify(key)
    if (part.key === text) return part
    part.key = text
    this.end(name)
    fill(part.node)
    part.node.hidden = key === null
    if (key !== null) this.alive.set(name, make(part.node) ?? [])
    return part
  }

  end(name) {
    for (const drawn of this.alive.get(name) ?? []) drawn?.destroy?.()
    this.alive.delete(name)
  }

  show(view, hooks) {
    showStep(this, view, hooks)
  }

  clear() {
    for (const name of [...this.parts.keys()]) this.end(name)
    this.parts.clear()
    fill(this.told)
    fill(this.asked)
    fill(this.host)
    this.host.classList.remove('step', 'with-question')
    delete this.host.step
  }
}

function showStep(step, view, hooks) {
  const at = {}
  ;({ question: at.question, answer: at.answer, look: at.look } = view)
  const phase = view.phase
  const mode = hooks.mode ?? 'learner',
    wall = mode === 'wall'
  at.person = mode === 'learner' || mode === 'alone'
  at.guess = at.person && at.question ? `${view.title} ${view.number}` : null
  at.round = phase === 'vote' ? 1 : phase === 'again' ? 2 : 0
  at.open = Boolean(at.question) && at.round > 0 && at.person && !view.shut
  at.late = phase === 'look' || phase === 'reveal' || (phase === 'again' && mode === 'alone')
  layOutStep(step, view, hooks, mode, wall, phase, at)
  // Once the vote is over a phone shows what is new first, and folds what was told before.
  at.slim = at.person && at.late && narrow.matches
  const ended = phase === 'reveal' ? at.one(at.answer?.pictures) : []
  // The wall has room for one of the two.
  const shown = at.late && at.look && !(wall && ended.length) ? at.one(at.look.pictures) : []
  // nor is what was told before a question read again there: the question is
  const text = view.html && !(wall && (at.question || shown.length || ended.length)) ? [view.html, at.slim] : null
  step.part('text', step.told, text, node => {
    const told = safe(view.html, { class: 'md' })
    node.append(at.slim ? el('details', {}, el('summary', {}, 'What was told'), told) : told)
  })
  const old = shown.length || ended.length ? [] : at.one(view.pictures)

  picked(step, view, wall, at, 'pictures', step.told, old)
  picked(step, view, wall, at, 'look', step.told, shown, at.look?.html)
  at.afterwards = () => picked(step, view, wall, at, 'after', at.slim ? step.asked : step.told, ended)
  if (!at.slim) at.afterwards()

  step.part(
    'question',
    wall ? step.top : step.asked,
    at.question && !at.open ? [at.question.html, phase === 'talk', view.shut] : null,
    node => {
      if (phase === 'talk' && mode !== 'control' && !wall)
        node.append(el('p', { class: 'talk-words' }, 'Talk with the person next to you. Try to change their mind, or yours.'))
      node.append(inline(at.question.html, { class: 'question', role: 'heading', 'aria-level': '3' }))
    },
  )
  askForm(step, view, hooks, at)

  ownLines(step, view, hooks, mode, phase, at)

  const rows =
    at.question && !at.open ? [view.number, phase, at.question.kind, view.bars, view.mine, at.answer?.right, wall] : null
  const answered = () =>
    step.part('answer', step.asked, at.answer && phase === 'reveal' ? [view.number, at.answer, view.mine, wall] : null, node =>
      reveal(node, view, mode),
    )
  if (at.person) answered()
  step.part('rows', step.asked, rows, node => roomRows(node, view, mode))
  if (!at.person) answered()
  putBench(step, view, hooks, at)
  step.part('own', at.question ? step.asked : step.told, view.own?.write && hooks.words ? [view.number, view.own] : null, node =>
    ownText(node, view.own, { id: `own-${view.number}`, kept: view.words, put: hooks.words }),
  )
  if (step.bench && view.benchSettings && !same(step.benchSettings, view.benchSettings)) step.bench.set?.(view.benchSettings)
  step.benchSettings = view.benchSettings ?? null
  step.told.hidden = ![...step.told.children].some(node => !node.hidden)
  step.asked.hidden = ![...step.asked.children].some(node => !node.hidden)
}

function picked(step, view, wall, at, name, where, list, caption) {
  const key = list.length ? [view.number, list.map(p => p.id), caption ?? ''] : null
  step.part(name, where, key, node => {
    if (caption) node.append(safe(caption, { class: 'md look-words' }))
    return pictures(node, list, { large: wall, guess: at.guess })
  })
}

function layOutStep(step, view, hooks, mode, wall, phase, at) {
  step.host.dataset.phase = phase
  step.host.dataset.kind = view.kind
  step.host.classList.toggle('with-question', Boolean(at.question))

  at.one = list => (wall ? onWall(list, phase) : list)
  // On the wall each column scrolls by itself where it must.
  if (wall)
    step.host.dataset.pictures = String(
      at.late ? Math.max(at.one(at.look?.pictures).length, at.one(at.answer?.pictures).length) : at.one(view.pictures).length,
    )
  if (wall) for (const column of [step.told, step.asked]) column.tabIndex = 0
  // Where there is room the two stand side by side; on a phone what matters now comes first.
  const turned = at.person && (phase === 'talk' || phase === 'bars' || phase === 'reveal' || (mode === 'learner' && at.open))
  const order = turned ? [step.asked, step.told] : [step.told, step.asked]
  if (!step.top) step.host.append((step.top = el('div', { class: 'top' })))
  if (step.host.children[1] !== order[0] || step.host.children[2] !== order[1]) step.host.append(...order)

  step.top.classList.toggle('quiet', mode === 'learner' && at.open)
  step.part('head', step.top, wall ? null : [view.number, view.of, view.title, phase, mode], node =>
    head(node, view, mode, hooks),
  )
}

function askForm(step, view, hooks, at) {
  step.part('form', step.asked, at.open ? [view.number, at.round, at.question.kind] : null, node => {
    step.form = questionForm(node, at.question, {
      before: at.round === 2 ? view.mine?.[1] : null,
      sent: view.mine?.[at.round],
      first: at.round === 2 ? view.mine?.[1] : null,
      drawHand,
      drawPicture,
      fetched,
      send: hooks.answer,
      words: view.sendWords,
      changed: hooks.changed,
      sure: hooks.sure !== false,
      id: `${view.number}-${at.round}`,
      bar: hooks.bar,
    })
    return step.form.drawn
  })
  if (at.open) step.form.state(view.sent)
  else step.form = null
}

// A line of one's own: a reason beside the guess, and what is seen before anything is explained.
function ownLines(step, view, hooks, mode, phase, at) {
  const line = at.person && at.question && hooks.line ? (at.open ? 'because' : phase === 'look' ? 'seen' : null) : null
  step.part('line', step.form?.reason ?? step.asked, line ? [view.number, line, at.round] : null, node =>
    ownLine(node, {
      id: `line-${view.number}-${line}`,
      label: LINES[line],
      kept: view.lines?.[line],
      put: text => hooks.line(line, text),
    }),
  )

  // Alone there is nobody to talk to; having looked, one may still change one's mind.
  const may = mode === 'alone' && phase === 'look' && view.mine && hooks.again
  step.part('again', step.asked, may ? [view.number] : null, node =>
    node.append(el('button', { type: 'button', class: 'btn', onclick: () => hooks.again() }, 'Guess again')),
  )
}

function putBench(step, view, hooks, at) {
  if (at.slim) at.afterwards()
  step.part(
    'bench',
    at.question ? step.asked : step.told,
    view.bench ? [view.number, view.benchMode ?? '', view.bench.scene] : null,
    node => {
      if (view.benchWords) node.append(el('p', { class: 'bench-words' }, view.benchWords))
      const box = el('div', { class: 'bench-host' })
      node.append(box)
      step.bench = drawBench(box, view.bench, {
        ask: hooks.bench,
        onchange: hooks.benchChanged,
        onreach: hooks.reached,
        onsolved: hooks.solved,
      })
      // What another hand moves is looked at, not held.
      if (view.benchMode === 'mirror')
        for (const part of box.querySelectorAll('.gwt-settings, .gwt-actions')) {
          part.inert = true
          if (part.matches('.gwt-actions')) part.hidden = true
        }
      if (view.benchLink) node.append(view.benchLink)
      return [step.bench]
    },
  )
  if (!view.bench) step.bench = null
}

// The wall has room for one picture; two hands that are to be compared are one, and once nothing is asked any more there are two.
function onWall(list, phase) {
  const all = list ?? []
  const hands = all.length > 1 && all.every(picture => picture.kind === 'hand')
  return all.slice(0, hands || phase === 'look' || phase === 'show' ? 2 : 1)
}

function head(node, view, mode, hooks) {
  const phase = PHASES[view.phase]
    ? ` \u00b7 ${mode === 'control' && view.phase === 'vote' ? 'they guess' : PHASES[view.phase]}`
    : ''
  node.append(
    el(
      'p',
      { class: 'over' },
      view.lesson ? el('span', { class: 'lesson-name' }, `${view.lesson} \u00b7 `) : null,
      hooks.steps
        ? [
            el(
              'button',
              { type: 'button', class: 'link step-link', onclick: hooks.steps, 'aria-haspopup': 'dialog' },
              `Step ${view.number} of ${view.of}`,
            ),
            phase,
          ]
        : `Step ${view.number} of ${view.of}${phase}`,
    ),
    el('h2', { class: 'big', tabindex: '-1' }, view.title),
  )
}

const known = new Map()

function fetched(picture) {
  if (Object.keys(picture).some(key => !['id', 'kind', 'title', 'text', 'url'].includes(key))) {
    keepAxes(picture)
    return Promise.resolve(picture)
  }
  if (!known.has(picture.id)) {
    known.set(
      picture.id,
      fetch(picture.url ?? `/picture/${picture.id}.json`)
        .then(response => {
          if (!response.ok) throw new Error(String(response.status))
          return response.json()
        })
        .then(data => {
          keepAxes(data)
          return data
        })
        .catch(error => {
          known.delete(picture.id)
          throw error
        }),
    )
  }
  return known.get(picture.id)
}

export function pictures(node, list, { large = false, small = false, guess = null } = {}) {
  const drawn = []
  const grid = el('div', { class: `pictures n${Math.min(list.length, 3)}` })
  node.append(grid)
  for (const picture of list) {
    const host = el('div', { class: `picture kind-${picture.kind}` })
    grid.append(host)
    const draw = () => {
      fill(host, el('p', { class: 'waiting' }, 'The picture is being fetched.'))
      fetched(picture)
        .then(data => {
          if (!host.isConnected) return
          fill(host)
          drawn.push(drawPicture(host, data, { small, fill: large, guess }))
          window.dispatchEvent(new Event('gwt-drawn'))
        })
        .catch(() => {
          fill(
            host,
            el('p', { class: 'md' }, picture.text || picture.title || ''),
            el('p', { class: 'note' }, 'The picture did not come. '),
            el('button', { type: 'button', class: 'btn', onclick: draw }, 'Fetch it again'),
          )
        })
    }
    draw()
  }
  return drawn
}

// ---- what the room said ------------------------------------------------------------------------------------------

function roomRows(node, view, mode) {
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

// ---- what the model gives ----------------------------------------------------------------------------------------

function reveal(node, view, mode) {
  const { question, answer, mine } = view
  const own = mine?.[2] ?? mine?.[1] ?? null
  const person = mode === 'learner' || mode === 'alone'
  node.append(el('h3', { class: 'part-head' }, 'What the model gives'))
  const right = rightWords(question, answer.right)
  if (person) {
    const said = own ? answerWords(question, own.answer) : ''
    const sure = own?.sure ?? null
    node.append(
      el(
        'dl',
        { class: 'beside' },
        el(
          'div',
          {},
          el('dt', {}, 'You said'),
          el(
            'dd',
            {},
            said || 'nothing this time',
            sure !== null && said ? el('span', { class: 'note' }, ` (${['a guess', 'fairly sure', 'very sure'][sure]})`) : null,
          ),
        ),
        el(
          'div',
          { class: 'right-one' },
          el('dt', {}, 'The model gives'),
          el('dd', {}, el('b', {}, right), ' ', el('span', { class: 'tick', 'aria-hidden': 'true' }, '\u2713')),
        ),
      ),
    )
    if (view.lines?.because) node.append(el('p', { class: 'own' }, `Your reason: ${view.lines.because}`))
    if (view.lines?.seen) node.append(el('p', { class: 'own' }, `You saw: ${view.lines.seen}`))
    for (const about of feedback(question, answer, own?.answer))
      node.append(
        el(
          'div',
          { class: 'belief' },
          about.words ? el('p', {}, about.words) : null,
          about.belief ? el('p', {}, `Behind it is often this idea: ${about.belief}`) : null,
          about.html ? safe(about.html, { class: 'md' }) : null,
        ),
      )
  } else if (mode === 'control' || !question.choices?.length || question.kind === 'order')
    node.append(
      el(
        'p',
        { class: `right-one in-${question.kind}` },
        el('b', {}, right),
        ' ',
        el('span', { class: 'tick', 'aria-hidden': 'true' }, '\u2713'),
      ),
    )
  if (answer.html) node.append(safe(answer.html, { class: 'md reason' }))
  // the wall keeps to what is read from afar: this stands on everybody's own page
  if (answer.arms && mode !== 'wall')
    node.append(el('p', { class: 'note' }, `The same answer in ${answer.arms} other invented arms.`))
}
