// The list of lessons: opens a room with one of them, asking for the server's key where it has one.

import './join.js'
import { stateAt } from './bench.js'
import { button, download, el, fill, kept, keyHeld, post, segments } from './dom.js'
import { handView } from './hand/view.js'

const box = document.querySelector('.lessons'),
  dialog = document.getElementById('open-room'),
  told = document.getElementById('open-trouble')
const keyRow = document.getElementById('open-key'),
  key = document.getElementById('key'),
  go = document.getElementById('open-go')
let slug = '',
  short = false
const length = document.getElementById('open-length')

// The address that phones are to open, where this machine has several.
const way = document.getElementById('way')
if (way) {
  const before = kept.get('gw-way')
  if ([...way.options].some(option => option.value === before)) way.value = before
  way.addEventListener('change', () => kept.set('gw-way', way.value))
}
// The line that the server prints carries its key behind the #, where no server sees it; it leaves the address at once.
const given = new URLSearchParams(location.hash.slice(1)).get('key')
if (given) {
  keyHeld.set(given)
  history.replaceState(null, '', location.pathname)
}
key.value = keyHeld.get()

for (const b of document.querySelectorAll('[data-open]')) {
  b.addEventListener('click', () => {
    slug = b.dataset.open
    document.getElementById('open-what').textContent =
      `For \u201c${b.dataset.title}\u201d. You get a code for the wall, ` +
      'a picture code for phones, and the page to lead from. Names are made up; answers are kept without them.'
    told.textContent = ''
    short = false
    fill(length, lengthChoice(b.dataset))
    if (box.dataset.keyNeeded === 'yes') keyRow.hidden = false
    dialog.showModal()
    if (keyRow.hidden || key.value) go.focus()
    else key.focus()
  })
}
// Beside the lessons the supple hand of the model, from no current to the most of the start page. The other one is a lesson.
async function drawHands() {
  const places = [...document.querySelectorAll('.lesson-hand')],
    answer = await fetch('/start.json')
  if (!answer.ok) throw new Error(String(answer.status))
  const data = await answer.json(),
    hand = data.hands[0]
  places.forEach((place, i) => {
    const view = handView(place, { small: true })
    view.show(stateAt(hand.live, (data.most_ma * i) / Math.max(places.length - 1, 1)), 'at once')
  })
  const words = document.getElementById('lessons-hands')
  words.textContent = `Beside them: the ${hand.name.toLowerCase()} of the model, its current turned up from 0 to ${data.most_ma} mA.`
  words.hidden = false
}
drawHands().catch(() => document.querySelectorAll('.lesson-hand').forEach(place => place.remove())) // a list without hands

// Some days after a lesson its questions come again, in another scene.
const DAYS_BEFORE_AGAIN = 2

// How far this browser is with each lesson that somebody takes alone, and which one comes next.
let next = null
for (const note of document.querySelectorAll('[data-at]')) {
  const at = kept.get(`gw-at-${note.dataset.at}`),
    done = at?.done
  if (!done) next ??= note
  if (!at?.at) continue
  note.textContent = done ? '\u2713 Done' : `Begun: step ${at.at} of ${at.of}`
  note.hidden = false
  const row = note.closest('li')
  row.dataset.state = done ? 'done' : 'begun'
  if (done && note.dataset.again && Date.now() - at.on > DAYS_BEFORE_AGAIN * 86_400_000)
    note.append(' ', el('a', { href: `/teach/again?steps=${note.dataset.again}` }, 'Some days ago: what has stayed?'))
  row.style.setProperty('--far', `${Math.round((100 * at.at) / at.of)}%`)
}
if (next && document.querySelector('[data-at]:not([hidden])')) {
  next.textContent = [next.textContent, next.textContent ? 'Go on with this one.' : 'Next'].filter(Boolean).join('. ')
  next.hidden = false
}

// The short version is a way through the lesson; the educator can change it while the room goes on.
function lengthChoice({ minutes, steps, short: some }) {
  if (!Number(steps)) return null
  return segments(
    'length',
    'How much?',
    [
      [false, `Whole, ${minutes} min`],
      [true, `Short, ${steps} steps, ${some} min`],
    ],
    false,
    v => {
      short = v
    },
  )
}

document.getElementById('open-not').addEventListener('click', () => dialog.close())
document.getElementById('open-form').addEventListener('submit', event => {
  event.preventDefault()
  open()
})
go.addEventListener('click', open)

async function open() {
  if (go.disabled) return
  if (!keyRow.hidden && !key.value.trim()) {
    told.textContent = 'Type the key that was printed where the server was started.'
    key.focus()
    return
  }
  go.disabled = true
  told.textContent = ''
  try {
    const { ok, status, data } = await post('/teach/open', {
      lesson: slug,
      short,
      ...(way ? { address: way.value } : {}),
      ...(keyRow.hidden ? {} : { key: key.value.trim() }),
    })
    if (ok && data.code) {
      if (!keyRow.hidden) keyHeld.set(key.value.trim())
      kept.set(`gw-room-${data.code}`, { token: data.token })
      location.href = data.control ?? `/room/${data.code}/control`
      return
    }
    if (status === 401 || status === 403) {
      const first = keyRow.hidden
      keyRow.hidden = false
      told.textContent = first
        ? 'This server asks for its key. It was printed where the server was started.'
        : (data.text ?? 'That is not the key of this server.')
      key.focus()
      key.select()
    } else told.textContent = data.text ?? 'The room could not be opened. Try again in a moment.'
  } catch {
    told.textContent = 'The server does not answer. Try again in a moment.'
  }
  go.disabled = false
}

// Rooms that were opened on this machine, for whoever may open one here: named at once where nothing has to be asked first.
const rooms = document.getElementById('rooms-here'),
  list = document.getElementById('my-rooms'),
  showRooms = document.getElementById('my-rooms-show')
const keyNeeded = box.dataset.keyNeeded === 'yes'
const withKey = body => ({ ...body, ...(keyNeeded ? { key: keyHeld.get() } : {}) })
const NEEDS_KEY = 'This needs the key that was printed where the server was started: open this page by that line.'
const wrong = (data = {}) => (keyNeeded && !keyHeld.get() ? NEEDS_KEY : (data.text ?? 'Try again in a moment.'))

function roomRow(r) {
  const lesson = document.querySelector(`[data-open="${r.slug}"]`)?.dataset.title ?? r.slug,
    said = r.code.replaceAll('-', ' ')
  return el(
    'li',
    {},
    el(
      'div',
      { class: 'what' },
      el('h3', {}, said),
      el(
        'p',
        { class: 'note' },
        `${lesson}. Opened ${new Date(1000 * r.opened).toLocaleString([], { dateStyle: 'medium', timeStyle: 'short' })}, ${r.joined} joined${r.ended ? ', ended' : ''}`,
      ),
    ),
    button(r.ended ? 'Its answers' : 'Lead it', () => leadRoom(r.code), {
      'aria-label': `${r.ended ? 'Answers of' : 'Lead'} ${said}`,
    }),
  )
}

async function myRooms(asked) {
  let words = 'The server does not answer. Try again in a moment.',
    found = []
  try {
    const { ok, data } = await post('/teach/rooms', withKey({}))
    words = ok ? 'No room is kept on this machine.' : wrong(data)
    found = ok ? data.rooms : []
  } catch {
    /* said below */
  }
  rooms.hidden = !asked && !found.length
  fill(list, found.length ? el('ul', { class: 'room-list' }, found.map(roomRow)) : el('p', { role: 'status' }, words))
  if (asked) document.getElementById('rooms-head').focus()
}

async function leadRoom(code) {
  if (!kept.get(`gw-room-${code}`)) {
    const { ok, data } = await post('/teach/rooms', withKey({ code }))
    if (!ok) {
      myRooms(true)
      return
    }
    kept.set(`gw-room-${code}`, { token: data.token })
  }
  location.href = `/room/${code}/control`
}
showRooms?.addEventListener('click', () => myRooms(true))
if (!keyNeeded || keyHeld.get()) myRooms(false)

// A lesson is one file: who gets it opens it with the command, and it stands in the list as here.
for (const b of document.querySelectorAll('[data-file]'))
  b.addEventListener('click', async () => {
    let words = 'The server does not answer. Try again in a moment.'
    try {
      const { ok, data, response } = await post(`/lesson/${b.dataset.file}/file`, withKey({}))
      const name = response.headers.get('Content-Disposition')?.match(/filename="([^"]+)"/)?.[1] ?? 'lesson.md'
      words = ok ? `Saved by your browser. To open it: graspwave open ${name}` : wrong(data)
      if (ok) download(await response.blob(), name)
    } catch {
      /* said below */
    }
    const told = b.closest('li').querySelector('[data-told]')
    told.textContent = words
    told.hidden = false
  })
