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
// words (on the button), changed(draft), id. Returns {state({words, state}), drawn}.
export function questionForm(host, question, o) {
  const drawn = []
  const start = o.sent ?? o.before ?? null
  let answer = start?.answer ? structuredClone(start.answer) : null
  let sure = start?.sure ?? null
  let sent = o.sent ? { answer: structuredClone(o.sent.answer), sure: o.sent.sure ?? null } : null
  let told = null

  const form = el('form', {
    id: `ask-${o.id}`,
    class: `ask kind-${question.kind}`,
    novalidate: true,
    onsubmit: event => {
      event.preventDefault()
      submit()
    },
  })
  const fields = el('fieldset', { class: 'choices' }, el('legend', { class: 'question' }, inline(question.html)))
  const go = el('button', { class: 'btn strong send', form: `ask-${o.id}` }, o.words?.first ?? 'Send my answer')
  const state = el('p', { class: 'send-state', 'aria-live': 'polite' })
  if (o.first)
    form.append(
      el('p', { class: 'own' }, `First you said ${answerWords(question, o.first.answer)}. Think again, and send it either way.`),
    )
  form.append(fields)

  const set = next => {
    answer = next
    told = null
    o.changed?.({ answer, sure })
    refresh()
  }
  const PARTS = { one, several, number, place, order }
  ;(PARTS[question.kind] ?? one)()
  if (o.sure)
    form.append(
      segments(`sure-${o.id}`, 'How sure?', SURE, sure, value => {
        sure = value
        told = null
        o.changed?.({ answer, sure })
        refresh()
      }),
    )
  host.append(form)
  // On a phone what sends stands in the page's own bar, where a thumb finds it without scrolling.
  const settle = () => {
    const held = document.activeElement === go
    if (narrow.matches && o.bar) o.bar.replaceChildren(go, state)
    else form.append(go, state)
    if (held) go.focus({ preventScroll: true })
  }
  settle()
  narrow.addEventListener('change', settle)
  drawn.push({
    destroy() {
      narrow.removeEventListener('change', settle)
      go.remove()
      state.remove()
    },
  })
  refresh()

  function submit() {
    if (!answer) {
      told = { words: MISSING[question.kind] ?? 'Choose one first.' }
      refresh()
      fields.querySelector('input, button')?.focus()
      return
    }
    sent = { answer: structuredClone(answer), sure }
    o.send(structuredClone(answer), sure)
  }

  function refresh(given) {
    if (given !== undefined) told = given
    // What was not taken can be sent again.
    if (given?.state === 'refused') sent = null
    const fresh = !sent || !same(sent.answer, answer) || (sent.sure ?? null) !== sure
    go.textContent = !sent
      ? (o.words?.first ?? 'Send my answer')
      : fresh
        ? (o.words?.again ?? 'Send the change')
        : (o.words?.done ?? 'Sent')
    go.disabled = Boolean(sent) && !fresh
    const words =
      sent && fresh
        ? (o.words?.changed ?? 'Changed, not sent yet.')
        : (told?.words ?? (sent ? '' : (o.words?.unsent ?? 'Not sent yet.')))
    if (state.textContent !== words) state.textContent = words
    state.dataset.state = sent && fresh ? 'changed' : (told?.state ?? '')
  }

  function cards(type, isOn, onpick) {
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
          if (hand.isConnected) drawn.push(o.drawHand(hand, choice.hand))
        })
    }
    fields.append(list)
  }

  function one() {
    cards(
      'radio',
      key => answer?.choice === key,
      key => set({ choice: key }),
    )
  }

  function several() {
    fields.append(el('p', { class: 'note' }, 'Choose all that fit.'))
    cards(
      'checkbox',
      key => answer?.choices?.includes(key),
      (key, on) => {
        const now = new Set(answer?.choices)
        if (on) now.add(key)
        else now.delete(key)
        set(now.size ? { choices: question.choices.map(c => c.key).filter(k => now.has(k)) } : null)
      },
    )
  }

  function number() {
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
      set(inside ? { value } : null)
    }
    // A click on the slider where its handle already stands is a choice too.
    slide?.addEventListener('pointerup', () => {
      if (!answer) take(slide.value, slide)
    })
    slide?.addEventListener('keydown', event => {
      if (event.key === 'Enter') {
        event.preventDefault()
        if (!answer) take(slide.value, slide)
      }
    })
    fields.append(
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
    if (answer) {
      field.value = answer.value
      if (slide) slide.value = answer.value
    }
    aim(answer ? answer.value : null)
  }

  function place() {
    const box = el('div', { class: 'picture place-picture' })
    fields.append(el('p', { class: 'note' }, 'Touch the picture, or use the sliders under it.'), box)
    o.fetched(question.on)
      .then(data => {
        if (!box.isConnected) return
        drawn.push(
          o.drawPicture(box, data, {
            place: {
              value: answer ? { x: answer.x, y: answer.y ?? null } : null,
              onchange: at => set(Number.isFinite(at.y) ? { x: at.x, y: at.y } : { x: at.x }),
            },
          }),
        )
      })
      .catch(() => {
        box.append(el('p', {}, question.on?.text ?? 'The picture did not come.'))
      })
  }

  function order() {
    let keys = answer?.order?.length === question.choices.length ? [...answer.order] : question.choices.map(c => c.key)
    const list = el('ol', { class: 'order' })
    fields.append(el('p', { class: 'note' }, 'Move them into order, first on top.'), list)
    if (!answer) answer = { order: keys }
    const draw = (moved, way) => {
      fill(list)
      keys.forEach((key, i) => {
        const choice = question.choices.find(c => c.key === key)
        const move = (to, words, sign) =>
          button(
            sign,
            () => {
              keys.splice(to, 0, keys.splice(i, 1)[0])
              set({ order: [...keys] })
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

  return { state: given => refresh(given ?? null), drawn, draft: () => ({ answer, sure }) }
}

const MISSING = {
  one: 'Choose one first.',
  several: 'Choose one or more first.',
  number: 'Set a number inside the range first.',
  place: 'Touch the picture first.',
}
