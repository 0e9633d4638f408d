// The form of a question: one, several, a number, a place on a picture, an order; how sure; send. All by keyboard too.

import { answerWords } from './answers.js'
import { button, el, fill, inline, narrow, say, same, segments } from './dom.js'
import { fillTrack } from './range.js'

const SURE = [
  [0, 'a guess'],
  [1, 'fairly'],
  [2, 'very'],
]

// `o`: before (answer of the first round to start from), sent (what is kept for this round), drawHand, drawPicture, send(answer,
// sure),
// words (on the button), changed(draft), id. Returns {state({words, state}), drawn, reason}.
export function questionForm(host, question, o) {
  const form = {}
  form.drawn = []
  const start = o.sent ?? o.before ?? null
  form.answer = start?.answer ? structuredClone(start.answer) : null
  form.sure = start?.sure ?? null
  form.sent = o.sent ? { answer: structuredClone(o.sent.answer), sure: o.sent.sure ?? null } : null
  form.told = null

  layOut(question, o, form)

  ;(PARTS[question.kind] ?? one)(question, o, form)
  if (o.sure)
    form.how = segments(`sure-${o.id}`, 'How sure?', SURE, form.sure, value => {
      form.sure = value
      form.told = null
      o.changed?.({ answer: form.answer, sure: form.sure })
      refresh(o, form)
    })
  // A reason is thought of before the guess is sent: the page puts its line here.
  const reason = el('div', {})
  form.end = el('div', { class: 'ask-end' })
  form.node.append(reason, form.end)
  host.append(form.node)
  settleBar(o, form, reason)
  refresh(o, form)
  return {
    state: given => refresh(o, form, given ?? null),
    drawn: form.drawn,
    reason,
    draft: () => ({ answer: form.answer, sure: form.sure }),
  }
}

function set(o, form, next) {
  form.answer = next
  form.told = null
  o.changed?.({ answer: form.answer, sure: form.sure })
  refresh(o, form)
}

function submit(question, o, form) {
  if (!form.answer) {
    form.told = { words: MISSING[question.kind] ?? 'Choose one first.' }
    refresh(o, form)
    form.fields.querySelector('input, button')?.focus()
    return
  }
  form.sent = { answer: structuredClone(form.answer), sure: form.sure }
  o.send(structuredClone(form.answer), form.sure)
}

function refresh(o, form, given) {
  if (given !== undefined) form.told = given
  // What was not taken can be sent again.
  if (given?.state === 'refused') form.sent = null
  const fresh = !form.sent || !same(form.sent.answer, form.answer) || (form.sent.sure ?? null) !== form.sure
  form.go.textContent = !form.sent
    ? (o.words?.first ?? 'Send my answer')
    : fresh
      ? (o.words?.again ?? 'Send the change')
      : (o.words?.done ?? 'Sent')
  form.go.disabled = Boolean(form.sent) && !fresh
  const words =
    form.sent && fresh
      ? (o.words?.changed ?? 'Changed, not sent yet.')
      : (form.told?.words ?? (form.sent ? '' : (o.words?.unsent ?? 'Not sent yet.')))
  if (form.state.textContent !== words) form.state.textContent = words
  form.state.dataset.state = form.sent && fresh ? 'changed' : (form.told?.state ?? '')
}

function cards(question, o, form, type, isOn, onpick) {
  const list = el('div', { class: `cards${question.choices.some(c => c.hand) ? ' with-hands' : ''}` })
  for (const choice of question.choices) {
    const input = el('input', {
      type,
      name: `choice-${o.id}`,
      value: choice.key,
      onchange: () => onpick(choice.key, input.checked),
    })
    input.checked = isOn(choice.key)
    const hand = choice.hand ? el('span', { class: 'small-hand', 'aria-hidden': 'true' }) : null
    list.append(
      el(
        'label',
        { class: 'card' },
        input,
        el('span', { class: 'letter' }, choice.key),
        hand,
        inline(choice.html, { class: 'card-words' }),
        el('span', { class: `mark-box ${type}`, 'aria-hidden': 'true' }),
      ),
    )
    if (hand)
      queueMicrotask(() => {
        if (hand.isConnected) form.drawn.push(o.drawHand(hand, choice.hand))
      })
  }
  form.fields.append(list)
}

function one(question, o, form) {
  cards(
    question,
    o,
    form,
    'radio',
    key => form.answer?.choice === key,
    key => set(o, form, { choice: key }),
  )
}

function several(question, o, form) {
  form.fields.append(el('p', { class: 'note' }, 'Choose all that fit.'))
  cards(
    question,
    o,
    form,
    'checkbox',
    key => form.answer?.choices?.includes(key),
    (key, on) => {
      const now = new Set(form.answer?.choices)
      if (on) now.add(key)
      else now.delete(key)
      set(o, form, now.size ? { choices: question.choices.map(c => c.key).filter(k => now.has(k)) } : null)
    },
  )
}

function number(question, o, form) {
  const { low, high, step, unit } = question,
    id = `number-${o.id}`
  const limits = { min: low ?? undefined, max: high ?? undefined, step: step ?? 'any' }
  const field = el('input', { type: 'number', id, inputmode: 'decimal', ...limits, oninput: () => take(field.value, field) })
  const slide =
    Number.isFinite(low) && Number.isFinite(high)
      ? el('input', {
          type: 'range',
          class: 'unset',
          ...limits,
          'aria-label': 'Your guess',
          value: (low + high) / 2,
          oninput: () => take(slide.value, slide),
        })
      : null
  const aim = value => {
    if (!slide) return
    slide.classList.toggle('unset', value === null)
    fillTrack(slide, value === null)
    slide.setAttribute('aria-valuetext', value === null ? 'not set yet' : `${value} ${unit ?? ''}`)
  }
  const take = (text, from) => {
    const value = text === '' ? NaN : Number(text)
    const inside = Number.isFinite(value) && (low == null || value >= low) && (high == null || value <= high)
    if (slide && from !== slide && inside) slide.value = value
    if (from !== field) field.value = value
    aim(inside ? value : null)
    set(o, form, inside ? { value } : null)
  }
  // A click on the slider where its handle already stands is a choice too.
  slide?.addEventListener('pointerup', () => {
    if (!form.answer) take(slide.value, slide)
  })
  slide?.addEventListener('keydown', event => {
    if (event.key === 'Enter') {
      event.preventDefault()
      if (!form.answer) take(slide.value, slide)
    }
  })
  form.fields.append(
    el(
      'div',
      { class: 'number-row' },
      slide,
      el('label', { for: id, class: 'vh' }, `Your guess${unit ? `, ${unit}` : ''}`),
      field,
      unit ? el('span', { 'aria-hidden': 'true' }, unit) : null,
    ),
    el(
      'p',
      { class: 'note' },
      Number.isFinite(low) && Number.isFinite(high) ? `From ${low} to ${high}${unit ? ` ${unit}` : ''}.` : '',
    ),
  )
  if (form.answer) {
    field.value = form.answer.value
    if (slide) slide.value = form.answer.value
  }
  aim(form.answer ? form.answer.value : null)
}

function place(question, o, form) {
  const box = el('div', { class: 'picture place-picture' })
  form.fields.append(el('p', { class: 'note' }, 'Touch the picture, or use the sliders under it.'), box)
  o.fetched(question.on)
    .then(data => {
      if (!box.isConnected) return
      form.drawn.push(
        o.drawPicture(box, data, {
          place: {
            value: form.answer ? { x: form.answer.x, y: form.answer.y ?? null } : null,
            onchange: at => set(o, form, Number.isFinite(at.y) ? { x: at.x, y: at.y } : { x: at.x }),
          },
        }),
      )
    })
    .catch(() => {
      box.append(el('p', {}, question.on?.text ?? 'The picture did not come.'))
    })
}

function order(question, o, form) {
  let keys = form.answer?.order?.length === question.choices.length ? [...form.answer.order] : question.choices.map(c => c.key)
  const list = el('ol', { class: 'order' })
  form.fields.append(el('p', { class: 'note' }, 'Move them into order, first on top.'), list)
  if (!form.answer) form.answer = { order: keys }
  const draw = (moved, way) => {
    fill(list)
    keys.forEach((key, i) => {
      const choice = question.choices.find(c => c.key === key)
      const move = (to, words, sign) =>
        button(
          sign,
          () => {
            keys.splice(to, 0, keys.splice(i, 1)[0])
            set(o, form, { order: [...keys] })
            draw(key, words)
            say(`${choice.key}: place ${to + 1} of ${keys.length}`)
          },
          { 'aria-label': `Move ${words}: ${choice.key}`, disabled: to < 0 || to >= keys.length, 'data-way': words },
        )
      list.append(
        el(
          'li',
          { class: 'card', 'data-key': key },
          el('span', { class: 'letter' }, key),
          inline(choice.html, { class: 'card-words' }),
          move(i - 1, 'up', '\u2191'),
          move(i + 1, 'down', '\u2193'),
        ),
      )
    })
    if (moved) {
      const row = list.querySelector(`[data-key="${CSS.escape(moved)}"]`)
      ;(row.querySelector(`[data-way=${way}]:not(:disabled)`) ?? row.querySelector('button:not(:disabled)')).focus()
    }
  }
  draw()
}

function layOut(question, o, form) {
  form.node = el('form', {
    id: `ask-${o.id}`,
    class: `ask kind-${question.kind}`,
    novalidate: true,
    onsubmit: event => {
      event.preventDefault()
      submit(question, o, form)
    },
  })
  form.fields = el('fieldset', { class: 'choices' }, el('legend', { class: 'question' }, inline(question.html)))
  form.go = el('button', { class: 'btn strong send', form: `ask-${o.id}` }, o.words?.first ?? 'Send my answer')
  form.state = el('p', { class: 'send-state', 'aria-live': 'polite' })
  if (o.first)
    form.node.append(
      el('p', { class: 'own' }, `First you said ${answerWords(question, o.first.answer)}. Think again, and send it either way.`),
    )
  form.node.append(form.fields)
}

// On a phone what sends stands in the page's own bar, where a thumb finds it without scrolling; else beside how sure one is, in
// one row that stays in sight.
function settleBar(o, form, reason) {
  const settle = () => {
    const held = document.activeElement
    if (form.how) narrow.matches ? reason.before(form.how) : form.end.prepend(form.how)
    if (narrow.matches && o.bar) o.bar.replaceChildren(form.go, form.state)
    else {
      form.end.append(form.go)
      form.end.after(form.state)
    }
    if (held === form.go || form.how?.contains(held)) held.focus({ preventScroll: true })
  }
  settle()
  narrow.addEventListener('change', settle)
  form.drawn.push({
    destroy() {
      narrow.removeEventListener('change', settle)
      form.go.remove()
      form.state.remove()
    },
  })
}

const PARTS = { one, several, number, place, order }

const MISSING = {
  one: 'Choose one first.',
  several: 'Choose one or more first.',
  number: 'Set a number inside the range first.',
  place: 'Touch the picture first.',
}
