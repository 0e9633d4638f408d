// A lesson on paper: for learners one page a question, to be filled in, and what the model gives on pages behind; for whoever
// teaches one page a question with its answer, its reasons and the notes. All words and pictures are those of the lesson.

import './trade.js'
import { rightWords } from './answers.js'
import { button, el, fill, inline, minutes, safe, say, segments } from './dom.js'
import { pictures } from './step/pictures.js'

const app = document.getElementById('app'),
  slug = app.dataset.slug,
  bar = document.getElementById('handout-bar'),
  sheets = document.getElementById('sheets')
const KINDS = { tell: 'told', ask: 'asked', talk: 'talk', roam: 'to try' }
let lesson = null,
  drawn = [],
  who = new URLSearchParams(location.search).get('for') === 'educator' ? 'educator' : 'learner'

// Paper is light and of one size, whatever the screen is.
const root = document.documentElement,
  PAPER = { theme: 'light', layout: 'desk', size: '1' }
const asPaper = () => {
  for (const [key, value] of Object.entries(PAPER)) if (root.dataset[key] !== value) root.dataset[key] = value
}
asPaper()
new MutationObserver(asPaper).observe(root, { attributes: true, attributeFilter: Object.keys(PAPER).map(key => `data-${key}`) })

async function start() {
  let response
  try {
    response = await fetch(`/lesson/${slug}.json`)
  } catch {
    response = null
  }
  const data = await response?.json().catch(() => null)
  if (!response?.ok || !data) {
    fill(sheets, el('p', { class: 'trouble' }, data?.text ?? 'The server does not answer. Load this page again.'))
    return
  }
  lesson = data
  document.getElementById('lesson-title').textContent = lesson.title
  document.title = `Handout, ${lesson.title} - Graspwave`
  fill(
    bar,
    segments(
      'for',
      'For',
      [
        ['learner', 'a learner'],
        ['educator', 'whoever teaches'],
      ],
      who,
      value => {
        who = value
        history.replaceState(null, '', `?for=${who}`)
        draw()
      },
    ),
    button('Print', () => print(), { class: 'btn strong' }),
    el('p', { class: 'note', id: 'count' }),
  )
  draw()
}

function draw() {
  for (const one of drawn) one?.destroy?.()
  drawn = []
  fill(sheets, el('p', { class: 'waiting' }, 'Being laid out.'))
  fill(sheets, ...(who === 'learner' ? forLearners() : forEducator()))
  number()
  fit()
  say(`${sheets.children.length} pages for ${who === 'learner' ? 'a learner' : 'whoever teaches'}`)
}

function number() {
  const all = [...sheets.querySelectorAll('.sheet')]
  all.forEach((sheet, i) => {
    sheet.querySelector('.foot')?.remove()
    sheet.append(el('p', { class: 'foot' }, `${lesson.title} \u00b7 page ${i + 1} of ${all.length}. `, caution()))
  })
  document.getElementById('count').textContent = `${all.length} pages, A4 or Letter`
}

function caution() {
  const words = document.querySelector('footer.caution p').cloneNode(true)
  words.querySelector('button')?.remove()
  return words.textContent.trim().replace(/\s+/g, ' ')
}

const sheet = (kind, ...parts) => el('section', { class: `sheet ${kind}` }, el('div', { class: 'body' }, parts))
const list = (items, tag = 'ul') =>
  el(
    tag,
    { class: 'md' },
    items.map(html => el('li', {}, inline(html))),
  )
const told = html => (html ? safe(html, { class: 'md' }) : null)
const titled = (title, items) => (items?.length ? [el('h3', {}, title), list(items)] : null)
function shown(given) {
  if (!given?.length) return null
  const node = el('div', { class: `paper-pictures of-${Math.min(given.length, 3)}` })
  drawn.push(...pictures(node, given.map(onPaper), { guess: null }))
  return node
}
// Paper does not move: a hand that would stands at its end. And what is covered is left open, to be drawn in.
function onPaper(picture) {
  const last = picture.frames?.at(-1)
  return { ...picture, covered: false, guess: null, ...(last ? { state: { ...picture.state, ...last }, frames: null } : {}) }
}
const ruled = (n, words) =>
  el(
    'div',
    { class: 'ruled' },
    words ? el('p', {}, words) : null,
    Array.from({ length: n }, () => el('i')),
  )
const over = step => el('p', { class: 'over' }, `Step ${step.number} of ${lesson.steps.length}`)
const questions = () => lesson.steps.filter(step => step.question)

// ---- for a learner

function forLearners() {
  const asked = questions(),
    others = lesson.steps.filter(step => !step.question)
  const early = others.filter(step => step.kind === 'talk' && step.number < (asked[0]?.number ?? 0))
  const own = others.filter(step => (step.kind === 'talk' || step.kind === 'roam') && !early.includes(step))
  const first = sheet(
    'cover',
    el('h1', {}, lesson.title),
    el('p', { class: 'lead' }, 'Guess first, alone and on paper. Then talk, guess again, look, and read why.'),
    titled('You will', lesson.objectives),
    told(lesson.prior),
    early.map(step => [el('h2', {}, step.title), told(step.html)]),
    lesson.cautions?.length ? el('div', { class: 'care' }, titled('Take care', lesson.cautions)) : null,
  )
  const tasks = own.length
    ? [
        sheet(
          'tasks',
          el('h1', {}, 'Yours to do'),
          own.map(step =>
            el('div', { class: 'task' }, el('h2', {}, step.title), told(step.html), shown(step.pictures), ruled(3)),
          ),
        ),
      ]
    : []
  return [
    first,
    ...asked.map(askedSheet),
    ...tasks,
    ...answers(
      asked,
      others.filter(step => step.kind === 'tell'),
    ),
  ]
}

function askedSheet(step, i, all) {
  return sheet(
    'question-sheet',
    el('p', { class: 'over' }, `Question ${i + 1} of ${all.length}`),
    el('h2', {}, step.title),
    told(step.html),
    shown(step.pictures),
    inline(step.question.html, { class: 'question' }),
    form(step.question),
    el(
      'p',
      { class: 'sure' },
      'How sure? ',
      ['a guess', 'fairly', 'very'].map(words => el('span', {}, el('b', { class: 'box round' }), words)),
    ),
    ruled(2, 'Because ...'),
    step.look ? ruled(2, 'When the picture is shown: what I see') : ruled(2, 'What I take from it'),
  )
}

function form(question) {
  const { kind, choices } = question
  if (kind === 'number') {
    const ends = Number.isFinite(question.low) && Number.isFinite(question.high) ? `from ${question.low} to ${question.high}` : ''
    return el(
      'p',
      { class: 'blank-row' },
      'First: ',
      el('i', { class: 'blank' }),
      ` ${question.unit ?? ''}   After the talk: `,
      el('i', { class: 'blank' }),
      ` ${question.unit ?? ''}  `,
      el('span', { class: 'note' }, ends),
    )
  }
  if (kind === 'place')
    return [
      shown(question.on ? [question.on] : []),
      el('p', { class: 'note' }, 'Mark the place: a cross at first, a ring after the talk.'),
    ]
  const box = () => el('b', { class: `box${kind === 'one' ? ' round' : kind === 'order' ? ' wide' : ''}` })
  const how = { one: 'Choose one', several: 'Choose all that fit', order: 'Write 1, 2, 3 ... into the boxes' }[kind]
  return el(
    'table',
    { class: 'boxes' },
    el(
      'thead',
      {},
      el(
        'tr',
        {},
        el('th', { scope: 'col' }, 'first'),
        el('th', { scope: 'col' }, 'after'),
        el('th', { scope: 'col', class: 'how' }, how),
      ),
    ),
    el(
      'tbody',
      {},
      choices.map(choice =>
        el(
          'tr',
          {},
          el('td', {}, box()),
          el('td', {}, box()),
          el('td', {}, el('b', { class: 'key' }, choice.key), inline(choice.html)),
        ),
      ),
    ),
  )
}

// What the model gives comes last, so that these pages can be handed out afterwards.
function answers(asked, tells) {
  const parts = [...asked, ...tells].sort((a, b) => a.number - b.number)
  const found = []
  for (let at = 0; at < parts.length; at += 2) {
    found.push(
      sheet(
        'answers',
        at === 0
          ? [el('h1', {}, 'What the model gives'), el('p', { class: 'note' }, 'To be handed out, or read, after the guesses.')]
          : null,
        parts
          .slice(at, at + 2)
          .map(step =>
            el(
              'div',
              { class: 'task' },
              el('h2', {}, step.title),
              step.question
                ? [
                    inline(step.question.html, { class: 'asked-again' }),
                    el('p', { class: 'right' }, el('b', {}, rightWords(step.question, step.answer?.right))),
                    told(step.answer?.html),
                    shown(step.answer?.pictures?.length ? step.answer.pictures : step.look?.pictures),
                  ]
                : [told(step.html), shown(step.pictures)],
            ),
          ),
      ),
    )
  }
  const terms = Object.entries(lesson.glossary ?? {})
  if (terms.length || lesson.limits?.length)
    found.push(
      sheet(
        'answers',
        titled('Where the model ends', lesson.limits),
        terms.length
          ? [
              el('h3', {}, 'Words of this lesson'),
              el(
                'dl',
                { class: 'glossary' },
                terms.map(([term, meaning]) => el('div', {}, el('dt', {}, term), el('dd', {}, meaning))),
              ),
            ]
          : null,
      ),
    )
  return found
}

// ---- for whoever teaches

function forEducator() {
  const plan = el(
    'table',
    { class: 'plan-table' },
    el(
      'thead',
      {},
      el(
        'tr',
        {},
        ['Step', '', 'Alone, about'].map(words => el('th', { scope: 'col' }, words)),
      ),
    ),
    el(
      'tbody',
      {},
      lesson.steps.map(step =>
        el(
          'tr',
          {},
          el('td', {}, `${step.number}. ${step.title}`),
          el('td', {}, KINDS[step.kind] ?? ''),
          el('td', {}, minutes(Math.round(2 * step.minutes) / 2)),
        ),
      ),
    ),
  )
  const first = sheet(
    'cover',
    el('h1', {}, lesson.title),
    el('p', { class: 'lead' }, `For ${lesson.for.join(', ')}`),
    titled('They will', lesson.objectives),
    told(lesson.prior),
    lesson.wrong_ideas?.length
      ? titled(
          'Ideas that they may bring (recalled from teaching, not measured)',
          lesson.wrong_ideas.map(idea => idea.text),
        )
      : null,
    el('h3', {}, 'Plan'),
    plan,
    el('div', { class: 'care' }, titled('Take care', lesson.cautions)),
    titled('Where the model ends', lesson.limits),
    lesson.basis?.length
      ? [
          el('h3', {}, 'What it rests on'),
          el(
            'ul',
            { class: 'md' },
            lesson.basis.map(one => el('li', {}, inline(one.html), el('span', { class: 'note' }, ` (${one.mark})`))),
          ),
        ]
      : null,
  )
  const pages = [first]
  let between = []
  const flush = () => {
    if (between.length)
      pages.push(
        sheet(
          'between',
          between.map(step =>
            el('div', { class: 'task' }, over(step), el('h2', {}, step.title), told(step.html), shown(step.pictures), note(step)),
          ),
        ),
      )
    between = []
  }
  for (const step of lesson.steps) {
    if (!step.question) {
      between.push(step)
      continue
    }
    flush()
    pages.push(taughtSheet(step))
  }
  flush()
  return pages
}

const note = step =>
  step.say ? el('aside', { class: 'said-note' }, el('h3', {}, 'Say and do'), safe(step.say, { class: 'md' })) : null

function taughtSheet(step) {
  const { question, answer, look } = step,
    right = [answer?.right].flat()
  const choice = one => {
    const about = answer?.choices?.[one.key] ?? {},
      is = question.kind !== 'order' && right.includes(one.key)
    return el(
      'li',
      { class: is ? 'is-right' : '' },
      el('p', {}, el('b', { class: 'key' }, one.key), inline(one.html), is ? el('span', { class: 'tick' }, ' \u2713') : null),
      about.html ? safe(about.html, { class: 'md why' }) : null,
      about.belief ? el('p', { class: 'behind' }, `Behind it: ${about.belief}`) : null,
    )
  }
  return sheet(
    'question-sheet taught',
    over(step),
    el('h2', {}, step.title),
    told(step.html),
    shown(step.pictures),
    inline(question.html, { class: 'question' }),
    question.choices?.length ? el('ul', { class: 'choices-told' }, question.choices.map(choice)) : null,
    question.kind !== 'one' && question.kind !== 'several'
      ? el('p', { class: 'right' }, 'The model gives: ', el('b', {}, rightWords(question, answer?.right)))
      : null,
    (answer?.said ?? []).map(one =>
      el('p', { class: 'behind' }, inline(one.html), one.belief ? ` Behind it: ${one.belief}` : null),
    ),
    look ? [el('h3', {}, 'Look'), told(look.html)] : null,
    el('h3', {}, 'What the model gives'),
    told(answer?.html),
    shown([...(look?.pictures ?? []), ...(answer?.pictures ?? [])]),
    note(step),
  )
}

// ---- one page each: letters and pictures give way until all stands on it

const STEPS = [
  [11, 56],
  [10.5, 52],
  [10, 48],
  [9.5, 44],
  [9, 40],
  [8.5, 36],
  [8, 32],
  [7.5, 28],
  [7, 24],
]

function fit() {
  for (const one of sheets.querySelectorAll('.sheet')) {
    const body = one.querySelector('.body')
    for (const [pt, mm] of STEPS) {
      one.style.setProperty('--pt', `${pt}pt`)
      one.style.setProperty('--high', `${mm}mm`)
      if (body.scrollHeight <= body.clientHeight + 1) break
    }
    one.dataset.over = String(Math.max(0, body.scrollHeight - body.clientHeight - 1))
  }
}
let soon = 0
const later = () => {
  cancelAnimationFrame(soon)
  soon = requestAnimationFrame(fit)
}
for (const on of ['gwt-drawn', 'gwt-font', 'gw-look']) window.addEventListener(on, later)
start()
