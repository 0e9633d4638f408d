// A lesson taken alone: guess, look, see what the model gives and why; all that is said stays in this browser.

import { bar, drawBar, sendPlace, stepList, toLessons } from './alone/bar.js'
import { intro } from './alone/intro.js'
import { summary } from './alone/summary.js'
import { along, begin, beginAnew, lesson, note, of, phaseOf, phasesOf, put, slug, told } from './alone/told.js'
import { button, el, fill } from './dom.js'
import { renderStep } from './step.js'
import { BENCH_WORDS, benchLink, benchOf, lessonOf } from './supply.js'
import { explain } from './trade.js'

const app = document.getElementById('app')
const host = el('div', {}),
  page = el('div', { class: 'alone-page', tabindex: '0', role: 'group', 'aria-label': 'Lesson' })
const said = el('p', { class: 'vh', role: 'status', 'aria-live': 'polite', id: 'said' })

// What the bar under the page can do.
const ways = { go, after }

load()

async function load() {
  let given = null
  try {
    given = await lessonOf(slug)
  } catch (error) {
    if (error.wrong) {
      wrong(error.wrong)
      return
    }
    fill(
      app,
      el(
        'div',
        { class: 'column narrow' },
        el('h2', { class: 'big' }, error.message === '404' ? 'There is no such lesson' : 'The lesson did not come'),
        el(
          'div',
          { class: 'row' },
          button('Try again', () => {
            fill(app, el('p', { class: 'waiting' }, 'The lesson is being fetched.'))
            load()
          }),
          toLessons(),
        ),
      ),
    )
    return
  }
  begin(given)
  document.title = `${lesson.title} - Graspwave`
  explain(lesson.glossary)
  fill(app, page, bar, said)
  show(false)
}

// Its text and the model do not fit together: trying again would not help.
function wrong(text) {
  fill(
    app,
    el(
      'div',
      { class: 'column narrow' },
      el('h2', { class: 'big' }, 'This lesson cannot be worked out here'),
      el('p', { class: 'lead' }, 'Its text and the model no longer fit together. The other lessons are not touched.'),
      el(
        'details',
        {},
        el('summary', {}, 'What is wrong'),
        el(
          'ul',
          { class: 'wrong' },
          text.split('\n').map(line => el('li', {}, line)),
        ),
      ),
      el('div', { class: 'row' }, toLessons('btn strong')),
    ),
  )
}

function go(at) {
  note({ at, far: Math.max(told.far, at) })
  show(true)
}

function show(moved) {
  const n = lesson.steps.length
  if (told.at === 0) {
    host.step?.clear()
    fill(page, intro({ go, restart, changed: () => drawBar(ways) }))
  } else if (told.at > n) {
    host.step?.clear()
    fill(page, summary({ page, go, restart }))
  } else step(told.at - 1)
  drawBar(ways)
  if (moved) {
    page.scrollTo({ top: 0 })
    page.querySelector('h2')?.focus({ preventScroll: true })
  }
}

function restart() {
  beginAnew()
  host.step?.clear()
  show(true)
}

// ---- a step --------------------------------------------------------------------------------------------------------

function step(i) {
  const data = lesson.steps[i],
    phases = phasesOf(data),
    mine = of(i),
    phase = phaseOf(i, phases)
  if (host.parentElement !== page || page.childElementCount !== 1) fill(page, host)
  const late = phase !== 'vote' && phase !== 'show'
  const view = {
    lesson: lesson.title,
    number: data.number ?? i + 1,
    of: lesson.steps.length,
    title: data.title,
    kind: data.kind,
    phase,
    html: data.alone?.html || data.html,
    own: data.alone,
    words: mine.words,
    lines: mine.lines,
    pictures: data.pictures,
    question: data.question,
    look: late && data.look ? data.look : null,
    answer: phase === 'reveal' ? data.answer : null,
    mine: mine.answer
      ? { 1: { answer: mine.answer, sure: mine.sure ?? null }, ...(mine.second ? { 2: mine.second } : {}) }
      : null,
    bench: data.bench && (data.kind !== 'ask' || phase === 'reveal') ? data.bench : null,
    sendWords: { first: 'That is my guess', again: 'That is my guess', done: 'That is my guess', unsent: '', changed: '' },
  }
  if (view.bench) {
    view.benchWords = BENCH_WORDS
    view.benchLink = benchLink(view.bench)
  }
  renderStep(host, view, {
    mode: 'alone',
    bar: sendPlace,
    steps: () => stepList(go),
    bench: settings => benchOf({ slug, step: i, settings }),
    again: lesson.quiz
      ? null
      : () => {
          put(i, { phase: 'again' })
          after()
        },
    answer: (answer, sure) => {
      if (phase === 'again') put(i, { second: { answer, sure }, phase: 'reveal' })
      else put(i, { answer, sure, second: null, phase: phases[1] ?? 'vote' })
      if (lesson.quiz) go(along(1))
      else after()
    },
    line: (which, text) => put(i, { lines: { ...of(i).lines, [which]: text } }),
    words: words => put(i, { words }),
    reached: (n, how) => put(i, { reached: { ...of(i).reached, [n]: how } }),
  })
}

function after() {
  show(false)
  const h = host.querySelector('.part-answer:not([hidden]) .part-head') ?? host.querySelector('h2')
  page.scrollTo({ top: 0 })
  if (h) {
    h.tabIndex = -1
    h.focus({ preventScroll: true })
  }
  fill(said, `${h?.textContent ?? ''}.`)
}
