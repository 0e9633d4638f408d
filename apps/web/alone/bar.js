// Along the lesson: the bar under it, what comes next, and the list of all steps.

import { button, el, fill, minutes } from '../dom.js'
import { HOME } from '../supply.js'
import { wordSwitch } from '../trade.js'
import { along, brief, inside, lesson, phaseOf, phasesOf, put, told, way } from './told.js'

export const bar = el('nav', { class: 'alone-bar', 'aria-label': 'Steps of the lesson' })
export const sendPlace = el('div', { class: 'send-place' })

// A file by itself leads nowhere.
export const toLessons = (look = 'btn') => (HOME ? el('a', { class: look, href: HOME }, 'To the lessons') : null)

function forward({ go, after }) {
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

export function drawBar(ways) {
  const n = lesson.steps.length,
    { go } = ways,
    next = forward(ways)
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
export function stepList(go) {
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
