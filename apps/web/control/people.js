// Right: who is here, the door, what they do not understand, and their words.

import { outDialog } from '../dialogs.js'
import { button, el, named, say } from '../dom.js'
import { line, state } from './leading.js'

const words = () => state.counts?.words ?? []
export const roster = () => state.counts?.roster ?? []

export function peopleParts() {
  const { view } = state,
    list = roster(),
    counts = state.counts ?? {}
  const asks = Boolean(view.question) && ['vote', 'talk', 'again'].includes(state.phase)
  const showDone = view.kind === 'roam' || view.kind === 'talk'
  const n = counts.here ?? list.filter(p => p.here).length,
    joined = counts.joined ?? list.length
  const of = counts.of ?? joined
  const head =
    asks && !state.gathering
      ? `${counts.answered ?? 0} of ${of} have answered`
      : showDone && !state.gathering
        ? `${counts.done ?? 0} of ${of} are done`
        : `${n} here, ${joined} joined`
  const said = words()
  return [
    el('div', { class: 'people-head' }, el('h3', {}, head), el('span', { class: 'note' }, 'names are made up')),
    doorParts(list.length),
    list.length
      ? el(
          'ul',
          { class: 'roster' },
          list.map(person => {
            const on = asks ? person.answered : showDone ? person.done : person.here
            const state_ = asks
              ? person.answered
                ? 'has answered'
                : 'has not answered'
              : showDone
                ? person.done
                  ? 'is done'
                  : 'is not done'
                : person.here
                  ? 'is here'
                  : 'is away'
            return el(
              'li',
              { class: `${on ? 'on' : ''}${person.here === false ? ' away' : ''}` },
              named(person.handle),
              el('span', { class: 'vh' }, ` ${state_}`),
              person.here === false ? el('span', { class: 'away-sign', 'aria-hidden': 'true' }, ' away') : null,
            )
          }),
        )
      : el('p', { class: 'note' }, 'Nobody has joined yet.'),
    unclear(counts),
    said.length
      ? el(
          'div',
          { class: 'said-list' },
          el('h3', {}, 'Their words'),
          el('p', { class: 'note' }, 'Only those you show are on the wall.'),
          el(
            'ul',
            {},
            said.map(w =>
              el(
                'li',
                {},
                el('p', {}, w.text, ' ', el('span', { class: 'note' }, named(w.handle))),
                button(
                  w.shown ? 'Hide' : 'Show on the wall',
                  () => line.send({ type: 'show_words', id: w.id, shown: !w.shown }),
                  { 'data-id': `w-${w.id}`, 'aria-pressed': String(Boolean(w.shown)) },
                ),
              ),
            ),
          ),
        )
      : null,
  ]
}

// Against those who do not belong here.
function doorParts(some) {
  const shut = state.door_shut === true
  return el(
    'div',
    { class: 'row door' },
    button(
      shut ? 'Open the door' : 'Shut the door',
      () => {
        line.send({ type: 'set', door_shut: !shut })
        say(shut ? 'The door is open' : 'Nobody new comes in')
      },
      { 'data-id': 'door', disabled: Boolean(state.ended), 'aria-pressed': String(shut) },
    ),
    button('Send out', () => outDialog(shut, newest => line.send({ type: 'empty', newest_s: newest })), {
      'data-id': 'send-out',
      disabled: Boolean(state.ended) || !some,
      'aria-haspopup': 'dialog',
    }),
  )
}

// What was not understood: how many in this step, and all that was said of it, newest first.
function unclear({ unclear: list = [], unclear_now: now = 0 }) {
  if (!list.length) return null
  const said = list.filter(u => u.text)
  return el(
    'div',
    { class: 'said-list' },
    el('h3', {}, `${now} ${now === 1 ? 'does' : 'do'} not understand this step`),
    list.length > now ? el('p', { class: 'note' }, `${list.length} in the whole lesson.`) : null,
    said.length
      ? el(
          'ul',
          {},
          said.map(u => el('li', {}, el('p', {}, u.text, ' ', el('span', { class: 'note' }, `step ${u.step + 1}`)))),
        )
      : null,
  )
}
