// Answers in words, and what makes one right: for a lesson taken alone, where nobody else is there to say so.

import { plain, same } from './dom.js'
import { digitsFor } from './numbers.js'

// With its letter, for that is what people say to each other.
const word = (question, key) => {
  const c = question.choices?.find(choice => choice.key === key)
  return c ? `${key} \u201c${plain(c.html).replace(/\.$/, '')}\u201d` : key
}
const number = value => String(Math.round(value * 100) / 100).replace('-', '\u2212')
const unit = question => (question.unit ? ` ${question.unit}` : '')

// Axes of the pictures that were fetched: a question only names its picture.
const axes = new Map()
export const keepAxes = picture => {
  if (picture?.id) axes.set(picture.id, picture)
}

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
  const named = (name, value) =>
    on[name]?.name ? `${on[name].name.toLowerCase()} ${one(value)} ${on[name].unit ?? ''}`.trim() : one(value)
  return Number.isFinite(y) ? `${named('x', x)}, ${named('y', y)}` : named('x', x)
}

export function rightWords(question, right) {
  if (right === null || right === undefined) return ''
  if (question.kind === 'order') return answerWords(question, { order: [right].flat() })
  if (question.kind === 'several') return answerWords(question, { choices: [right].flat() })
  if (question.kind === 'number') {
    // no finer than one could answer
    const as = value => number(Number(value.toFixed(digitsFor(question.step ?? 0.01))))
    const within = right.tolerance ? ` (within ${as(right.tolerance)})` : ''
    return `${as(right.value)}${unit(question)}${within}`
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

// What is to be said to an answer that the model does not give: of each wrong choice, of each right one left out, of a number
// by where it lies, of an order by what stands before what.
export function feedback(question, answer, own) {
  if (!own || isRight(question, own, answer.right)) return []
  const said = answer.said ?? []
  const useful = about => about && (about.belief || about.html)
  if ('order' in own) {
    const before = (a, b) => own.order.indexOf(a) < own.order.indexOf(b)
    const met = said.filter(one => one.before && before(...one.before)).slice(0, 2)
    return met.map((one, i) => (met.findIndex(other => other.belief === one.belief) < i ? { ...one, belief: '' } : one))
  }
  if ('value' in own || 'x' in own) {
    const value = own.value ?? own.x
    return said.filter(one => one.low !== null && value >= one.low && value <= one.high).slice(0, 1)
  }
  const keys = [own.choice ?? own.choices ?? []].flat()
  const wrong = keys.map(key => answer.choices?.[key]).filter(about => useful(about) && !about.right)
  const many = question.kind === 'several'
  const named = wrong.map((about, i) => ({
    ...about,
    words: many ? `${word(question, keys.filter(k => !answer.choices?.[k]?.right)[i])}:` : '',
  }))
  const missed = many ? [answer.right].flat().filter(key => !keys.includes(key)) : []
  return [...named, ...missed.map(key => ({ words: `You left out ${word(question, key)}.`, html: answer.choices?.[key]?.html }))]
}
