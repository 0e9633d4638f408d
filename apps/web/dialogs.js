// Dialogs of the page that leads a room: another device, answers to save, the end.

import { button, download, el, fill } from './dom.js'

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
      download(await response.blob(), `answers-${room}.${as}`)
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
// `address` gives the one that was chosen for phones.
export function inviteDialog(send, address) {
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
    const links = m.links ?? [],
      lead = links.find(one => one.host === address()) ?? links[0]
    fill(
      out,
      el('p', {}, m.role === 'wall' ? 'For the wall:' : 'To lead:'),
      el('p', { class: 'code' }, m.words.replaceAll('-', ' ')),
      lead ? pointed(lead) : typed(),
      linkRow(`${lead?.lead ?? `${location.origin}/lead`}#${m.words}`),
    )
  }
}

function pointed(lead) {
  const picture = el('div', { class: 'qr' })
  picture.innerHTML = lead.svg
  return el(
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
}

const typed = () =>
  el(
    'p',
    { class: 'note' },
    'On this machine open ',
    el('span', { class: 'address' }, `${location.origin}/lead`),
    ' in another browser and type it.',
  )

// The same as a link, to be sent to oneself; what stands behind its # reaches no server. An address of a classroom is no secure
// one, where the browser's own clipboard is shut: what is selected can be copied there too.
function linkRow(link) {
  const field = el('input', { class: 'link-field', readonly: true, value: link, 'aria-label': 'Link that lets one device in' })
  const copy = button('Copy the link', () => {
    field.select()
    copy.textContent = document.execCommand('copy') ? 'Copied' : 'Selected: copy it'
  })
  field.addEventListener('focus', () => field.select())
  return el('div', { class: 'row' }, field, copy)
}
