// What stands before the first step: what the lesson is, what to take care of, how much of it to take.

import { button, el, inline, minutes, safe, segments } from '../dom.js'
import { wordSwitch } from '../trade.js'
import { chosen, lengthOf, lesson, note, told } from './told.js'

export const list = items =>
  el(
    'ul',
    { class: 'md' },
    items.map(html => el('li', {}, inline(html))),
  )

export function intro({ go, restart, changed }) {
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
    lengthChoice(changed),
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

function lengthChoice(changed) {
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
      note({ brief: value })
      changed()
    },
  )
}
