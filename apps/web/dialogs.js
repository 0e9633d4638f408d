// Dialogs of the page that leads a room: another device, answers to save, the end.

import { button, el, fill } from './dom.js'

export function dialog(title, ...parts) {
  const d = el('dialog', { 'aria-labelledby': 'dialog-head' }, el('h2', { class: 'big', id: 'dialog-head' }, title), parts)
  d.addEventListener('close', () => d.remove())
  document.body.append(d)
  d.showModal()
  return d
}

// The report as the browser saves it: a page or a table.
function reportButtons(room, token) {
  const told = el('p', { class: 'trouble', role: 'alert' })
  const get = as => async () => {
    told.textContent = 'Being written.'
    try {
      const response = await fetch(`/room/${room}/report`, {
        method: 'POST',
        headers: { 'Content-Type': 'application/json' },
        body: JSON.stringify({ token, as }),
      })
      if (!response.ok) {
        told.textContent = (await response.json().catch(() => ({}))).text ?? 'The server did not give the answers.'
        return
      }
      const url = URL.createObjectURL(await response.blob())
      const a = el('a', { href: url, download: `answers-${room}.${as}` })
      document.body.append(a)
      a.click()
      a.remove()
      setTimeout(() => URL.revokeObjectURL(url), 10000)
      told.textContent = 'Saved by your browser.'
    } catch {
      told.textContent = 'No connection. Try again in a moment.'
    }
  }
  return [
    el(
      'div',
      { class: 'row' },
      button('As a page (HTML)', get('html'), { class: 'btn strong' }),
      button('As a table (CSV)', get('csv')),
    ),
    told,
  ]
}

export function saveDialog(room, token) {
  const d = dialog(
    'Save answers',
    el(
      'p',
      {},
      'By question, before and after the talk, counted for those who answered twice. No name stands in it, not even a made-up one.',
    ),
    reportButtons(room, token),
    el(
      'div',
      { class: 'row' },
      button('Close', () => d.close()),
    ),
  )
}

export function endDialog(room, token, ended, end) {
  if (ended) {
    const d = dialog(
      'The room has ended',
      el('p', {}, 'Its answers can still be saved while they are kept.'),
      reportButtons(room, token),
      el(
        'div',
        { class: 'row' },
        button('Close', () => d.close()),
      ),
    )
    return
  }
  const d = dialog(
    'End the room for all?',
    el(
      'p',
      {},
      'Phones show a thank-you and their own summary. Nobody can answer or join after that. Save the answers before or soon after.',
    ),
    reportButtons(room, token),
    el(
      'div',
      { class: 'row' },
      button('Not yet', () => d.close()),
      button(
        'End the room',
        () => {
          end()
          d.close()
        },
        { class: 'btn strong' },
      ),
    ),
  )
}

// Against a flood at the door: who came just now, or everybody. Who belongs here joins again; a flood pays for each place.
export function outDialog(shut, send) {
  const told = el('p', { class: 'trouble', role: 'alert' })
  const out = newest => () => {
    if (send(newest)) d.close()
    else told.textContent = 'No connection. Try again in a moment.'
  }
  const d = dialog(
    'Send people out?',
    el(
      'p',
      {},
      'Who is sent out loses the place and what was answered here. ' +
        (shut
          ? 'The door is shut: nobody comes back before you open it.'
          : 'Who belongs here presses \u201cTry again\u201d and is in anew.'),
    ),
    el(
      'div',
      { class: 'row' },
      button('Who joined in the last 5 minutes', out(300), { class: 'btn strong' }),
      button('Everybody', out(null)),
      button('Nobody', () => d.close()),
    ),
    told,
  )
}

// Asks for a code that lets one other device lead, or show the wall; `arrived` is called with what the server sends.
export function inviteDialog(send) {
  const out = el('div', { class: 'invited', 'aria-live': 'polite' })
  const ask = role => () => {
    fill(out, el('p', {}, 'One moment.'))
    if (!send(role)) fill(out, el('p', { class: 'trouble' }, 'No connection. Try again in a moment.'))
  }
  const d = dialog(
    'Another device',
    el(
      'p',
      {},
      'A code lets one device in, once, within ten minutes. Who has it can do the same as you, so show it to nobody else.',
    ),
    el('div', { class: 'row' }, button('Lead from there', ask('control')), button('Show the wall there', ask('wall'))),
    out,
    el(
      'div',
      { class: 'row' },
      button('Close', () => d.close()),
    ),
  )
  return m => {
    const lead = m.links?.[0],
      picture = el('div', { class: 'qr' })
    if (lead) picture.innerHTML = lead.svg
    fill(
      out,
      el('p', {}, m.role === 'wall' ? 'For the wall:' : 'To lead:'),
      el('p', { class: 'code' }, m.words.replaceAll('-', ' ')),
      lead
        ? el(
            'div',
            { class: 'qr-row' },
            picture,
            el(
              'p',
              { class: 'note' },
              'Point its camera here, or open ',
              el('span', { class: 'address' }, lead.lead),
              ' and type the code.',
            ),
          )
        : el(
            'p',
            { class: 'note' },
            'On this machine open ',
            el('span', { class: 'address' }, `${location.origin}/lead`),
            ' in another browser and type it.',
          ),
    )
  }
}
