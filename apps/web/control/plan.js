// Left: the plan of the lesson, the time that is left, and what to say next.

import { mmss, used } from '../clock.js'
import { button, el, fill, minutes, safe, say } from '../dom.js'
import { go, inside, lesson, line, minutesOf, phases, seen, state } from './leading.js'

const clocks = el('div', { class: 'clocks', role: 'timer', 'aria-label': 'Time left' })

export function planParts() {
  const { view } = state
  return [
    el('p', { class: 'over' }, 'Lesson'),
    el('h2', { class: 'lesson-title' }, lesson.title),
    clocks,
    lesson.short?.length ? el('label', { class: 'tick-row' }, shortBox(), `Short version, ${lesson.short.length} steps`) : null,
    el(
      'ol',
      { class: 'plan-list' },
      lesson.steps.map((step, i) =>
        el(
          'li',
          {},
          button(
            [
              el('span', { class: 'nr' }, String(step.number ?? i + 1)),
              el(
                'span',
                { class: 'name' },
                step.title,
                inside(i) ? null : el('span', { class: 'vh' }, ', not in the short version'),
              ),
              el(
                'span',
                { class: 'min' },
                i !== state.step && seen(i)
                  ? el('span', {}, '\u2713', el('span', { class: 'vh' }, ' shown'))
                  : minutes(step.room_minutes),
              ),
            ],
            () => go({ step: i, phase: phases(i)[0] }),
            {
              class: `plan-step${inside(i) ? '' : ' outside'}`,
              'data-id': `step-${i}`,
              'aria-current': i === state.step ? 'step' : null,
            },
          ),
        ),
      ),
    ),
    view.say
      ? el(
          'div',
          { class: 'say', tabindex: '0', role: 'group', 'aria-label': 'Say next' },
          el('p', { class: 'over', 'aria-hidden': 'true' }, 'Say next'),
          safe(view.say, { class: 'md' }),
        )
      : null,
  ]
}

function shortBox() {
  const box = el('input', {
    type: 'checkbox',
    'data-id': 'short',
    onchange: () => {
      line.send({ type: 'set', brief: box.checked })
      say(box.checked ? 'Next and Back go through the short version' : 'Next and Back go through all steps')
    },
  })
  box.checked = state.brief === true
  return box
}

export function tick() {
  if (!lesson || !state) return
  const time = used(state)
  const left = minutesOf() * 60 - time.lesson,
    step = lesson.steps[state.step].room_minutes * 60 - time.step
  const words = [
    ['Step, left', mmss(step), step < 0],
    ['Lesson, left', mmss(left), left < 0],
  ]
  clocks.classList.toggle('stands', !time.running)
  if (clocks.children.length !== 2)
    fill(
      clocks,
      words.map(([name]) => el('p', {}, el('span', {}, name), el('b', {}))),
    )
  words.forEach(([, text, over], i) => {
    const shownTime = clocks.children[i].lastChild
    if (shownTime.textContent !== text) shownTime.textContent = text
    shownTime.classList.toggle('past', over)
  })
}
