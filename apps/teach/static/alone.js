// A lesson taken alone: guess, look, see what the model gives and why; all that is said stays in this browser.

import { answerWords, isRight, rightWords } from './answers.js'
import { askBench, button, el, fill, inline, kept, minutes, plain, safe, sceneLink } from './dom.js'
import { renderStep } from './step.js'

const app = document.getElementById('app'), slug = app.dataset.slug
let lesson = null, key = '', told = null, linkFor = '', linkNode = null
const host = el('div', {}), page = el('div', { class: 'alone-page' }), bar = el('nav', { class: 'alone-bar', 'aria-label': 'Steps of the lesson' })
const said = el('p', { class: 'vh', role: 'status', 'aria-live': 'polite', id: 'said' })

load()

async function load() {
  try {
    const response = await fetch(`/lesson/${encodeURIComponent(slug)}.json`)
    if (!response.ok) throw new Error(String(response.status))
    lesson = await response.json()
  } catch (error) {
    fill(app, el('div', { class: 'column narrow' }, el('h2', { class: 'big' }, error.message === '404' ? 'There is no such lesson' : 'The lesson did not come'),
      el('div', { class: 'row' }, button('Try again', () => { fill(app, el('p', { class: 'waiting' }, 'The lesson is being fetched.')); load() }), el('a', { class: 'btn', href: '/teach' }, 'To the lessons'))))
    return
  }
  document.title = `${lesson.title} - Graspwave`
  key = `gw-alone-${lesson.digest}`
  told = { at: 0, far: 0, steps: {}, own: '', ...kept.get(key) }
  const n = lesson.steps.length
  told.at = Math.min(Math.max(0, told.at), n + 1)
  fill(app, page, bar, said)
  show(false)
}

const keep = () => kept.set(key, told)
const of = i => told.steps[i] ?? {}
const put = (i, change) => { told.steps = { ...told.steps, [i]: { ...of(i), ...change } }; keep() }
const phasesOf = step => (step.question && step.kind === 'ask' ? ['vote', ...(step.look?.pictures?.length ? ['look'] : []), 'reveal'] : ['show'])

function go(at) {
  told.at = at
  told.far = Math.max(told.far, at)
  keep()
  show(true)
}

function show(moved) {
  const n = lesson.steps.length
  if (told.at === 0) { host.step?.clear(); fill(page, intro()) } else if (told.at > n) { host.step?.clear(); fill(page, summary()) } else step(told.at - 1)
  drawBar()
  if (moved) {
    document.getElementById('main').scrollTo({ top: 0 })
    page.querySelector('h2')?.focus({ preventScroll: true })
  }
}

// ---- a step --------------------------------------------------------------------------------------------------------

function step(i) {
  const data = lesson.steps[i], phases = phasesOf(data), mine = of(i), phase = phases.includes(mine.phase) ? mine.phase : phases[0]
  if (host.parentElement !== page || page.childElementCount !== 1) fill(page, host)
  const late = phase === 'look' || phase === 'reveal'
  const view = {
    lesson: lesson.title,
    number: data.number ?? i + 1, of: lesson.steps.length, title: data.title, kind: data.kind, phase, html: data.html, pictures: data.pictures, question: data.question,
    look: late && data.look ? data.look : null, answer: phase === 'reveal' ? data.answer : null, mine: mine.answer ? { 1: { answer: mine.answer, sure: mine.sure ?? null } } : null,
    bench: data.bench && (data.kind !== 'ask' || phase === 'reveal') ? data.bench : null,
    sendWords: { first: 'That is my guess', again: 'That is my guess', done: 'That is my guess', unsent: '', changed: '' },
  }
  if (view.bench) { view.benchWords = 'Yours to try: move one thing at a time.'; view.benchLink = exploreLink(view.bench) }
  renderStep(host, view, { mode: 'alone', answer: (answer, sure) => { put(i, { answer, sure, phase: phases[1] ?? 'show' }); after() }, bench: settings => askBench({ slug, step: i, settings }) })
}

function after() {
  show(false)
  const h = host.querySelector('.part-answer:not([hidden]) .part-head') ?? host.querySelector('h2')
  document.getElementById('main').scrollTo({ top: 0 })
  if (h) { h.tabIndex = -1; h.focus({ preventScroll: true }) }
  fill(said, `${h?.textContent ?? ''}.`)
}

function exploreLink(b) {
  if (linkFor !== b.scene) {
    linkFor = b.scene
    linkNode = el('p', { class: 'row' }, el('a', { class: 'btn', href: '/explore', target: '_blank', rel: 'noopener' }, 'Open this scene in Explore'))
    sceneLink('explore', b.scene).then(href => { linkNode.firstChild.href = href })
  }
  return linkNode
}

// ---- along the lesson ----------------------------------------------------------------------------------------------

function forward() {
  const n = lesson.steps.length
  if (told.at === 0) return { words: told.far > 0 ? 'Go on' : 'Begin', act: () => go(1) }
  if (told.at > n) return null
  const i = told.at - 1, data = lesson.steps[i], phases = phasesOf(data), at = phases.indexOf(phases.includes(of(i).phase) ? of(i).phase : phases[0])
  if (at < phases.length - 1) {
    const to = phases[at + 1]
    if (phases[at] === 'vote') return { words: 'Skip this guess', quiet: true, act: () => { put(i, { phase: phases.at(-1) }); after() } }
    return { words: to === 'look' ? 'See the picture' : 'See what the model gives', act: () => { put(i, { phase: to }); after() } }
  }
  return { words: told.at === n ? 'To the summary' : 'Next step', act: () => go(told.at + 1) }
}

function drawBar() {
  const n = lesson.steps.length, next = forward()
  const dots = el('ol', { class: 'dots' }, lesson.steps.map((data, i) => {
    const at = i + 1, open = at <= told.far
    return el('li', {}, el('button', {
      type: 'button', class: `dot${open && at !== told.at ? ' seen' : ''}`, disabled: !open, 'aria-current': at === told.at ? 'step' : null, 'aria-label': `Step ${at}, ${data.title}`, onclick: () => go(at),
    }, String(at)))
  }))
  const held = bar.contains(document.activeElement) ? document.activeElement.dataset.id : null
  fill(bar, button('\u2190 Back', () => go(told.at - 1), { disabled: told.at === 0, 'data-id': 'back' }),
    el('div', { class: 'along' }, el('p', { class: 'where' }, told.at === 0 ? `${n} steps, ${minutes(lesson.minutes)}` : told.at > n ? 'Summary' : `Step ${told.at} of ${n}`), dots),
    next ? button(next.words, next.act, { class: next.quiet ? 'btn' : 'btn strong', 'data-id': 'next' }) : el('a', { class: 'btn', href: '/teach' }, 'To the lessons'))
  if (held) bar.querySelector(`[data-id=${held}]:not(:disabled)`)?.focus()
}

const list = items => el('ul', { class: 'md' }, items.map(html => el('li', {}, inline(html))))

function intro() {
  return el('div', { class: 'column intro' }, el('p', { class: 'over' }, `Lesson \u00b7 ${minutes(lesson.minutes)} \u00b7 for ${lesson.for.join(', ')}`), el('h2', { class: 'big', tabindex: '-1' }, lesson.title),
    el('p', { class: 'lead' }, 'You guess first, then look, then read why. A wrong guess is part of it. What you say stays in this browser.'),
    lesson.objectives?.length ? [el('h3', {}, 'Afterwards you can'), list(lesson.objectives)] : null,
    lesson.prior ? [el('h3', {}, 'What helps to know before'), safe(lesson.prior, { class: 'md' })] : null,
    lesson.cautions?.length ? [el('h3', {}, 'Take care'), list(lesson.cautions)] : null,
    told.far > 1 ? el('div', { class: 'row' }, button(`Go on at step ${Math.min(told.far, lesson.steps.length)}`, () => go(Math.min(told.far, lesson.steps.length))), button('Start again', restart)) : null)
}

function restart() {
  told = { at: 0, far: 0, steps: {}, own: '' }
  keep()
  host.step?.clear()
  show(true)
}

function summary() {
  const asked = lesson.steps.map((data, i) => ({ data, i, mine: of(i) })).filter(({ data }) => data.question && data.kind === 'ask')
  const right = asked.filter(({ data, mine }) => isRight(data.question, mine.answer, data.answer?.right)).length
  const own = el('textarea', { id: 'own', rows: '3', maxlength: '400' })
  own.value = told.own
  own.addEventListener('input', () => { told.own = own.value; keep() })
  const row = ({ data, i, mine }) => {
    const was = isRight(data.question, mine.answer, data.answer?.right)
    const keys = mine.answer ? [mine.answer.choice ?? mine.answer.choices ?? []].flat() : []
    const beliefs = keys.map(k => data.answer?.choices?.[k]).filter(c => c && !c.right && c.belief).map(c => c.belief)
    return el('li', {}, el('p', {}, el('b', {}, plain(data.question.html)), ' ', el('button', { type: 'button', class: 'link', onclick: () => go(i + 1), 'aria-label': `Look at step ${i + 1} again` }, 'look again')),
      el('p', {}, mine.answer ? `You said ${answerWords(data.question, mine.answer)}${mine.sure != null ? ` (${['a guess', 'fairly sure', 'very sure'][mine.sure]})` : ''}.` : 'You made no guess.'),
      el('p', { class: 'right-one' }, `The model gives: ${rightWords(data.question, data.answer?.right)}`, was ? [' ', el('span', { class: 'tick' }, '\u2713 as you said')] : null),
      beliefs.map(b => el('p', { class: 'note' }, `Behind your guess is often this idea: ${b}`)))
  }
  const glossary = Object.entries(lesson.glossary ?? {})
  return el('div', { class: 'column summary' }, el('p', { class: 'over' }, lesson.title), el('h2', { class: 'big', tabindex: '-1' }, 'What you said, and what the model gives'),
    asked.length ? el('p', { class: 'lead' }, `Your first guess was what the model gives in ${right} of ${asked.length}.`) : null,
    el('ol', { class: 'summary-list' }, asked.map(row)),
    el('div', { class: 'own-words' }, el('label', { for: 'own' }, 'In one sentence of your own: what will you tell somebody?'), own, el('p', { class: 'note' }, 'Kept in this browser only.')),
    lesson.objectives?.length ? [el('h3', {}, 'Can you now'), list(lesson.objectives)] : null,
    lesson.limits?.length ? [el('h3', {}, 'Where the model ends'), list(lesson.limits)] : null,
    lesson.cautions?.length ? [el('h3', {}, 'Take care'), list(lesson.cautions)] : null,
    glossary.length ? el('details', {}, el('summary', {}, 'Words of this lesson'), el('dl', { class: 'glossary' }, glossary.map(([term, text]) => el('div', {}, el('dt', {}, term), el('dd', {}, text))))) : null,
    lesson.basis?.length ? el('details', {}, el('summary', {}, 'What this rests on'), el('ul', { class: 'md basis' }, lesson.basis.map(b => el('li', {}, inline(b.html), el('span', { class: 'mark-word' }, ` ${b.mark}`))))) : null,
    el('div', { class: 'row' }, button('Start again', restart), el('a', { class: 'btn', href: '/teach' }, 'To the lessons')))
}
