// A lesson taken alone: guess, look, see what the model gives and why; all that is said stays in this browser.

import { answerWords, feedback, isRight, rightWords } from './answers.js'
import { button, el, fill, inline, kept, minutes, plain, safe, segments } from './dom.js'
import { lines as drawnLines } from './guesses.js'
import { renderStep } from './step.js'
import { BENCH_WORDS, HOME, benchLink, benchOf, lessonOf } from './supply.js'
import { explain, wordSwitch } from './trade.js'

const app = document.getElementById('app'),
  slug = app.dataset.slug
let lesson = null,
  key = '',
  told = null
const host = el('div', {}),
  page = el('div', { class: 'alone-page', tabindex: '0', role: 'group', 'aria-label': 'Lesson' })
const bar = el('nav', { class: 'alone-bar', 'aria-label': 'Steps of the lesson' }),
  sendPlace = el('div', { class: 'send-place' })
const said = el('p', { class: 'vh', role: 'status', 'aria-live': 'polite', id: 'said' })

load()

async function load() {
  try {
    lesson = await lessonOf(slug)
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
  document.title = `${lesson.title} - Graspwave`
  key = `gw-alone-${lesson.digest}`
  // Asked again some days later, one begins anew each time.
  const before = lesson.quiz === 'again' ? null : kept.get(key)
  told = { at: 0, far: 0, steps: {}, own: '', brief: false, lines: {}, ...before }
  drawnLines.keep(told.lines, lines => {
    told.lines = lines
    keep()
  })
  const n = lesson.steps.length
  told.at = Math.min(Math.max(0, told.at), n + 1)
  explain(lesson.glossary)
  fill(app, page, bar, said)
  show(false)
}

// A file by itself leads nowhere.
const toLessons = (look = 'btn') => (HOME ? el('a', { class: look, href: HOME }, 'To the lessons') : null)

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

const keep = () => {
  kept.set(key, told)
  kept.set(`gw-at-${slug}`, {
    at: Math.min(told.far, lesson.steps.length),
    of: lesson.steps.length,
    done: told.far > lesson.steps.length,
    on: Date.now(),
  })
  tell()
}
// Whoever counts what was done, such as a course that this lesson is part of, hears it here.
function tell() {
  const asked = lesson.steps.map((data, i) => [data, i]).filter(([data, i]) => data.question && data.answer && inside(i + 1))
  window.dispatchEvent(
    new CustomEvent('gw-told', {
      detail: {
        at: told.at,
        of: lesson.steps.length,
        done: told.far > lesson.steps.length,
        asked: asked.length,
        right: asked.filter(([data, i]) => isRight(data.question, lastSaid(i).answer, data.answer.right)).length,
      },
    }),
  )
}
const of = i => told.steps[i] ?? {}
const put = (i, change) => {
  told.steps = { ...told.steps, [i]: { ...of(i), ...change } }
  keep()
}
const phasesOf = step =>
  step.question && step.kind === 'ask'
    ? ['vote', ...(lesson.quiz ? [] : [...(step.look?.pictures?.length ? ['look'] : []), 'reveal'])]
    : ['show']

// A second guess is a by-way of the look: what was seen may change a mind before anything is explained.
const phaseOf = (i, phases) =>
  of(i).phase === 'again' && phases.includes('look') && of(i).answer
    ? 'again'
    : phases.includes(of(i).phase)
      ? of(i).phase
      : phases[0]
const lastSaid = i => of(i).second ?? of(i)

// The short version goes through its own steps only; all others can still be chosen.
// A course takes some steps of a lesson: its link names them.
const asked = (new URLSearchParams(location.search).get('steps') ?? '').split(',').map(Number).filter(Boolean)
const chosen = () => asked.filter(at => at <= lesson.steps.length)
const way = () => (chosen().length ? chosen() : lesson.short)
const brief = () => (told.brief || chosen().length > 0) && way()?.length > 0
const inside = at => !brief() || way().includes(at)
function along(by) {
  let at = told.at + by
  while (at > 0 && at <= lesson.steps.length && !inside(at)) at += by
  return at
}
const lengthOf = numbers => numbers.reduce((sum, n) => sum + lesson.steps[n - 1].minutes, 0)

function go(at) {
  told.at = at
  told.far = Math.max(told.far, at)
  keep()
  show(true)
}

function show(moved) {
  const n = lesson.steps.length
  if (told.at === 0) {
    host.step?.clear()
    fill(page, intro())
  } else if (told.at > n) {
    host.step?.clear()
    fill(page, summary())
  } else step(told.at - 1)
  drawBar()
  if (moved) {
    page.scrollTo({ top: 0 })
    page.querySelector('h2')?.focus({ preventScroll: true })
  }
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
    steps: stepList,
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

// ---- along the lesson ----------------------------------------------------------------------------------------------

function forward() {
  const n = lesson.steps.length
  if (told.at === 0) return { words: told.far > 0 ? 'Go on' : 'Begin', act: () => go(along(1)) }
  if (told.at > n) return null
  const i = told.at - 1,
    data = lesson.steps[i],
    phases = phasesOf(data),
    phase = phaseOf(i, phases),
    at = phases.indexOf(phase)
  if (phase === 'again')
    return {
      words: 'Keep it',
      quiet: true,
      act: () => {
        put(i, { phase: 'reveal' })
        after()
      },
    }
  if (at < phases.length - 1) {
    const to = phases[at + 1]
    if (phases[at] === 'vote' && !lesson.quiz)
      return {
        words: ['Skip', el('span', { class: 'room-only' }, ' this guess')],
        quiet: true,
        act: () => {
          put(i, { phase: phases.at(-1) })
          after()
        },
      }
    return {
      words: to === 'look' ? 'See the picture' : 'See what the model gives',
      act: () => {
        put(i, { phase: to })
        after()
      },
    }
  }
  return { words: along(1) > n ? 'To the summary' : 'Next step', act: () => go(along(1)) }
}

function drawBar() {
  const n = lesson.steps.length,
    next = forward()
  const dots = el(
    'ol',
    { class: 'dots' },
    lesson.steps.map((data, i) => {
      const at = i + 1,
        open = at <= told.far
      const cls = `dot${open && at !== told.at ? ' seen' : ''}${inside(at) ? '' : ' outside'}`
      return el(
        'li',
        {},
        el(
          'button',
          {
            type: 'button',
            class: cls,
            disabled: !open && inside(at),
            'aria-current': at === told.at ? 'step' : null,
            'aria-label': `Step ${at}, ${data.title}${inside(at) ? '' : ', not in the short version'}`,
            onclick: () => go(at),
          },
          String(at),
        ),
      )
    }),
  )
  const held = bar.contains(document.activeElement) ? document.activeElement.dataset.id : null
  fill(
    bar,
    button(['\u2190', el('span', { class: 'back-word' }, ' Back')], () => go(along(-1)), {
      'aria-label': 'Back',
      disabled: told.at === 0,
      'data-id': 'back',
    }),
    el('div', { class: 'along' }, el('p', { class: 'where' }, whereWords(n)), dots),
    next ? button(next.words, next.act, { class: next.quiet ? 'btn' : 'btn strong', 'data-id': 'next' }) : toLessons(),
    next?.quiet ? sendPlace : null,
  )
  if (held) bar.querySelector(`[data-id=${held}]:not(:disabled)`)?.focus()
}

function whereWords(n) {
  if (told.at > n) return 'Summary'
  if (told.at > 0) return `Step ${told.at} of ${n}${brief() ? ', short version' : ''}`
  if (brief()) return `${way().length} of ${n} steps`
  return `${n} steps, ${minutes(Math.round(lesson.alone_minutes ?? lesson.minutes))}`
}

// All steps, to choose one: what is ahead can be chosen once it was reached, or where it is not on the short way.
function stepList() {
  const d = el(
    'dialog',
    { class: 'steps-dialog', 'aria-labelledby': 'steps-head' },
    el('h2', { class: 'big', id: 'steps-head' }, 'Steps'),
    el(
      'ol',
      { class: 'step-list' },
      lesson.steps.map((data, i) => {
        const at = i + 1,
          note = [minutes(data.minutes), inside(at) ? null : 'not in the short version'].filter(Boolean).join(', ')
        return el(
          'li',
          {},
          button(
            [el('span', { class: 'nr' }, String(at)), el('span', {}, data.title), el('span', { class: 'min' }, note)],
            () => {
              d.close()
              go(at)
            },
            { class: 'plan-step', disabled: at > told.far && inside(at), 'aria-current': at === told.at ? 'step' : null },
          ),
        )
      }),
    ),
    wordSwitch(),
    el(
      'div',
      { class: 'row' },
      button('Close', () => d.close()),
    ),
  )
  d.addEventListener('close', () => d.remove())
  document.body.append(d)
  d.showModal()
}

const list = items =>
  el(
    'ul',
    { class: 'md' },
    items.map(html => el('li', {}, inline(html))),
  )

function intro() {
  return el(
    'div',
    { class: 'column intro' },
    el(
      'p',
      { class: 'over' },
      `Lesson \u00b7 ${minutes(Math.round(lesson.alone_minutes ?? lesson.minutes))} alone \u00b7 for ${lesson.for.join(', ')}`,
    ),
    el('h2', { class: 'big', tabindex: '-1' }, lesson.title),
    el(
      'p',
      { class: 'lead' },
      'You guess first, then look, then read why. A wrong guess is part of it. What you say stays in this browser.',
    ),
    lesson.cautions?.length ? el('section', { class: 'care' }, el('h3', {}, 'Take care'), list(lesson.cautions)) : null,
    lengthChoice(),
    wordSwitch(),
    lesson.objectives?.length ? [el('h3', {}, 'Afterwards you can'), list(lesson.objectives)] : null,
    lesson.prior ? [el('h3', {}, 'What helps to know before'), safe(lesson.prior, { class: 'md' })] : null,
    told.far > 1
      ? el(
          'div',
          { class: 'row' },
          button(`Go on at step ${Math.min(told.far, lesson.steps.length)}`, () => go(Math.min(told.far, lesson.steps.length))),
          button('Start again', restart),
        )
      : null,
  )
}

function lengthChoice() {
  if (lesson.quiz === 'again' && chosen().length)
    return el('p', {}, 'Of a lesson that you took some days ago. Something in the scene is new: look for it.')
  if (chosen().length)
    return el('p', {}, el('b', {}, `Part of a course: steps ${chosen().join(', ')}.`), ' All others can be chosen as well.')
  if (!lesson.short?.length) return null
  const share = lesson.alone_minutes ?? lesson.minutes
  const all = `Whole, ${minutes(Math.round(share))}`,
    asked = lesson.short.filter(i => lesson.steps[i - 1]?.kind === 'ask').length,
    some = `Short, ${asked} question${asked === 1 ? '' : 's'}, ${minutes(Math.round((share * lengthOf(lesson.short)) / lengthOf(lesson.steps.map((_, i) => i + 1))))}`
  return segments(
    'length',
    'How much?',
    [
      [false, all],
      [true, some],
    ],
    Boolean(told.brief),
    value => {
      told.brief = value
      keep()
      drawBar()
    },
  )
}

function restart() {
  told = { at: 0, far: 0, steps: {}, own: '', brief: told.brief, lines: {} }
  drawnLines.keep({}, lines => {
    told.lines = lines
    keep()
  })
  keep()
  host.step?.clear()
  show(true)
}

const sureWords = sure => (sure == null ? '' : ` (${['a guess', 'fairly sure', 'very sure'][sure]})`)

// The twelve questions: before a course they tell no answer; after it, both times stand beside each other.
const rightOnes = (steps, all) =>
  all.filter((data, i) => data.answer && isRight(data.question, steps?.[i]?.answer, data.answer.right)).length
function beforeWords() {
  kept.set(
    'gw-quiz-before',
    lesson.steps.filter((_, i) => of(i).answer).length ? { right: rightOnes(told.steps, lesson.steps) } : null,
  )
  return el(
    'div',
    { class: 'column summary' },
    el('h2', { class: 'big', tabindex: '-1' }, 'Thank you'),
    el(
      'p',
      { class: 'lead' },
      `You answered ${lesson.steps.filter((_, i) => of(i).answer).length} of ${lesson.steps.length}. ` +
        'The answers come with the second twelve, after the course.',
    ),
    el('div', { class: 'row' }, toLessons('btn strong')),
  )
}
function afterWords() {
  const first = kept.get('gw-quiz-before'),
    now = rightOnes(told.steps, lesson.steps),
    n = lesson.steps.length
  return el(
    'p',
    { class: 'lead' },
    first ? `As the model: ${first.right} of ${n} before, ${now} of ${n} now.` : `As the model: ${now} of ${n}.`,
  )
}

function summary() {
  if (lesson.quiz === 'before') return beforeWords()
  const asked = lesson.steps
    .map((data, i) => ({ data, i, mine: of(i) }))
    .filter(({ data, i, mine }) => data.question && data.kind === 'ask' && (inside(i + 1) || mine.answer))
  const written = lesson.steps.map((data, i) => ({ data, mine: of(i) })).filter(({ mine }) => mine.words?.text?.trim())
  const own = el('textarea', { id: 'own', rows: '3', maxlength: '400' })
  own.value = told.own
  own.addEventListener('input', () => {
    told.own = own.value
    keep()
  })

  const glossary = Object.entries(lesson.glossary ?? {})
  return el(
    'div',
    { class: 'column summary' },
    el('p', { class: 'over' }, lesson.title),
    el('h2', { class: 'big', tabindex: '-1' }, 'What you said, and what the model gives'),
    lesson.quiz === 'after' ? afterWords() : null,
    el('p', { class: 'lead' }, 'Where the two differ there is most to learn: look at that step again.'),
    el('ol', { class: 'summary-list' }, asked.map(summaryRow)),
    asked.length
      ? el('p', { class: 'note' }, 'Ideas behind a guess are recalled from teaching. How common they are has not been measured.')
      : null,
    written.length
      ? [
          el('h3', {}, 'What you wrote'),
          el(
            'ul',
            { class: 'md' },
            written.map(({ data, mine }) =>
              el('li', {}, el('b', {}, data.title.endsWith('?') ? `${data.title} ` : `${data.title}: `), mine.words.text),
            ),
          ),
        ]
      : null,
    el(
      'div',
      { class: 'own-words' },
      el('label', { for: 'own' }, 'In one sentence of your own: what will you tell somebody?'),
      own,
      el('p', { class: 'note' }, 'Kept in this browser only.'),
    ),
    lesson.objectives?.length ? [el('h3', {}, 'Can you now'), list(lesson.objectives)] : null,
    lesson.limits?.length ? [el('h3', {}, 'Where the model ends'), list(lesson.limits)] : null,
    glossary.length
      ? el(
          'details',
          { open: !page.clientWidth || page.clientWidth > 699 },
          el('summary', {}, 'Words of this lesson'),
          el(
            'dl',
            { class: 'glossary' },
            glossary.map(([term, text]) => el('div', {}, el('dt', {}, term), el('dd', {}, text))),
          ),
        )
      : null,
    lesson.basis?.length
      ? el(
          'details',
          {},
          el('summary', {}, 'What this rests on'),
          el(
            'ul',
            { class: 'md basis' },
            lesson.basis.map(b => el('li', {}, inline(b.html), el('span', { class: 'mark-word' }, ` ${b.mark}`))),
          ),
        )
      : null,
    lesson.cautions?.length ? el('section', { class: 'care' }, el('h3', {}, 'Take care'), list(lesson.cautions)) : null,
    el('div', { class: 'row' }, button('Start again', restart), toLessons()),
  )
}

function summaryRow({ data, i, mine }) {
  const last = mine.second ?? mine,
    was = isRight(data.question, last.answer, data.answer?.right)
  const first = mine.second ? `first ${answerWords(data.question, mine.answer)}, then ` : ''
  const said = answerWords(data.question, last.answer)
  const beliefs =
    last.answer && data.answer
      ? feedback(data.question, data.answer, last.answer)
          .map(c => c.belief)
          .filter(Boolean)
      : []
  return el(
    'li',
    {},
    el(
      'p',
      {},
      el('b', {}, plain(data.question.html)),
      ' ',
      el(
        'button',
        { type: 'button', class: 'link', onclick: () => go(i + 1), 'aria-label': `Look at step ${i + 1} again` },
        'look again',
      ),
    ),
    el('p', {}, said ? `You said ${first}${said}${sureWords(last.sure)}.` : 'You made no guess.'),
    el(
      'p',
      { class: 'right-one' },
      `The model gives: ${rightWords(data.question, data.answer?.right)}`,
      was ? [' ', el('span', { class: 'tick' }, '\u2713 as you said')] : null,
    ),
    mine.lines?.because ? el('p', { class: 'note' }, `Your reason: ${mine.lines.because}`) : null,
    beliefs.map(b => el('p', { class: 'belief-line' }, `Behind your guess is often this idea: ${b}`)),
  )
}
