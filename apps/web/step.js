// One step of a lesson, as any page shows it: what is told, the question in its form, the room's answers, what the model gives.
// A part is built anew only when what it shows has changed, so a choice that is being made stays under the finger.

import { questionForm } from './ask.js'
import { el, fill, inline, narrow, safe, same } from './dom.js'
import { drawBench, drawHand, drawPicture } from './draw.js'
import { ownLine, ownText } from './own.js'
import { fetched, pictures } from './step/pictures.js'
import { reveal } from './step/reveal.js'
import { roomRows } from './step/room_said.js'

const PHASES = {
  vote: 'your guess',
  talk: 'talk it over',
  again: 'your guess again',
  bars: 'what the room said',
  look: 'look',
  reveal: 'what the model gives',
}
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
