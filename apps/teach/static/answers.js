// Answers in words, and what makes one right: for a lesson taken alone, where nobody else is there to say so.

import { plain, same } from './dom.js'

const word = (question, key) => {
  const c = question.choices?.find(choice => choice.key === key)
  return `\u201c${c ? plain(c.html).replace(/\.$/, '') : key}\u201d`
}
const number = value => String(Math.round(value * 100) / 100).replace('-', '\u2212')
const unit = question => (question.unit ? ` ${question.unit}` : '')

// Axes of the pictures that were fetched: a question only names its picture.
const axes = new Map()
export const keepAxes = picture => { if (picture?.id) axes.set(picture.id, picture) }

// An answer as a person would say it; empty where there is none.
export function answerWords(question, answer) {
  if (!answer) return ''
  if ('choice' in answer) return word(question, answer.choice)
  if ('choices' in answer) return answer.choices.map(key => word(question, key)).join(' and ')
  if ('order' in answer) return answer.order.map(key => word(question, key)).join(', then ')
  if ('value' in answer) return `${number(answer.value)}${unit(question)}`
  if ('x' in answer) return placeWords(question, answer)
  return ''
}

function placeWords(question, { x, y }) {
  const on = axes.get(question.on?.id) ?? question.on ?? {}
  const one = value => String(Math.round(value * 10) / 10).replace('-', '\u2212')
  if (on.kind === 'forearm') return `${one(x)} % along${Number.isFinite(y) ? `, ${one(y)}\u00b0 around` : ''}`
  const named = (name, value) => (on[name]?.name ? `${on[name].name.toLowerCase()} ${one(value)} ${on[name].unit ?? ''}`.trim()
    : one(value))
  return Number.isFinite(y) ? `${named('x', x)}, ${named('y', y)}` : named('x', x)
}

export function rightWords(question, right) {
  if (right === null || right === undefined) return ''
  if (question.kind === 'order') return answerWords(question, { order: [right].flat() })
  if (question.kind === 'several') return answerWords(question, { choices: [right].flat() })
  if (question.kind === 'number') {
    const within = right.tolerance ? ` (within ${number(right.tolerance)})` : ''
    return `${number(right.value)}${unit(question)}${within}`
  }
  if (question.kind === 'place') return placeWords(question, right)
  return word(question, right)
}

export function isRight(question, answer, right) {
  if (!answer || right === null || right === undefined) return null
  if (question.kind === 'one') return answer.choice === right
  if (question.kind === 'several') return same([...answer.choices].sort(), [right].flat().sort())
  if (question.kind === 'order') return same(answer.order, [right].flat())
  if (question.kind === 'number') return Math.abs(answer.value - right.value) <= (right.tolerance ?? 0) + 1e-9
  const near = (value, at, within) => at === null || at === undefined || Math.abs(value - at) <= (within ?? 0) + 1e-9
  return near(answer.x, right.x, right.within_x) && near(answer.y, right.y, right.within_y)
}

