// The Explain page: one picture, few large words, five small pictures; and the sheet, shown and printed.

import { element } from '../web/element.js'
import { plain } from '../web/plain.js'
import { drawExplained, playMoves } from '../web/five_pictures.js'

const VOICE_MS = 1000 // how long a voice is waited for

export function render({ model }) {
  const view = { model }
  view.box = element('div', 'gwe')
  layOut(view)

  view.at = 0
  view.stop = null
  view.shown = null // past the pictures come the questions

  // ---- pictures and words

  view.box.addEventListener('keydown', e => {
    if (view.dialog.open || e.altKey || e.ctrlKey || e.metaKey) return
    if (e.key === 'ArrowRight') {
      go(view, view.at + 1)
      e.preventDefault()
    }
    if (e.key === 'ArrowLeft') {
      go(view, view.at - 1)
      e.preventDefault()
    }
  })

  // ---- read aloud, by the browser's own voice

  view.speaking = false

  // ---- the sheet

  layOutSheet(view)
  view.url = ''
  view.fresh = false

  view.model.on('sheet_html', () => fill(view))

  view.model.on('data', () => all(view))
  const relook = () => {
    draw(view)
    drawStrip(view)
  }
  window.addEventListener('gw-look', relook)
  const sizer = new ResizeObserver(() => fitWords(view))
  sizer.observe(view.box)
  view.model.on('remove', () => {
    sizer.disconnect()
    window.removeEventListener('gw-look', relook)
    view.stop?.()
    if (view.speaking) speechSynthesis.cancel()
    URL.revokeObjectURL(view.url)
  })
  lateAndTrouble(view)
  all(view)
  return view.box
}

// Old words look old, and a link that could not be read is told above them.
function lateAndTrouble(view) {
  const late = element('p', 'late-said'),
    trouble = element('p', 'trouble')
  late.setAttribute('role', 'status')
  trouble.setAttribute('role', 'alert')
  view.box.append(late)
  view.said.before(trouble)
  let due = 0
  const tell = () => {
    clearTimeout(due)
    const show = () => {
      view.box.classList.toggle('late', view.model.late)
      late.textContent = view.model.late ? L(view, 'late') : ''
      late.hidden = !view.model.late
    }
    if (view.model.late) due = setTimeout(show, 300)
    else show()
    trouble.textContent = view.model.trouble
    trouble.hidden = !view.model.trouble
  }
  for (const name of ['late', 'trouble']) view.model.on(name, tell)
  tell()
}

function data(view) {
  return plain(view.model.data)
}

function look() {
  const c = window.gwLook?.get?.() ?? {}
  return { side: c.side ?? 'left', skin: c.skin ?? 'clay', dark: c.theme === 'dark', still: c.motion === 'less' }
}

function L(view, key) {
  return data(view).labels[key]
}

function draw(view) {
  const d = data(view),
    p = d.pictures[view.at] ?? d.asked[view.at - d.pictures.length],
    o = look()
  view.stop?.()
  view.stop = null
  view.box.lang = d.language
  view.stage.replaceChildren()
  view.stage.classList.toggle('list', !p.key)
  if (p.key) view.shown = drawExplained(view.stage, p.key, d.drawing, { ...o, label: p.seen })
  else listAsked(view)
  view.count.textContent = p.key
    ? L(view, 'of')
        .replace('{n}', view.at + 1)
        .replace('{total}', d.pictures.length)
    : L(view, 'of_asked')
        .replace('{n}', view.at + 1 - d.pictures.length)
        .replace('{total}', d.asked.length)
  view.title.textContent = p.title
  view.tried.textContent = L(view, 'tried')
  view.tried.hidden = !p.tried
  view.silent.textContent = ''
  view.said.scrollTop = 0
  view.lines.replaceChildren(...p.lines.map(line => element('p', '', line)))
  view.back.textContent = `← ${L(view, 'back')}`
  view.next.textContent = `${L(view, 'next')} →`
  view.back.disabled = view.at === 0
  view.next.disabled = view.at === last(view)
  view.again.textContent = L(view, 'again')
  view.again.hidden = !view.shown.moves.length
  view.sheet.textContent = L(view, 'sheet')
  view.progress.replaceChildren(
    ...d.pictures.map((_, i) => element('i', i <= view.at ? 'past' : '')),
    element('i', view.at >= d.pictures.length ? 'past' : ''),
  )
  fitWords(view)
}

// The largest letters with which all the words of a picture are seen at once.
const LETTERS = ['lines', 'lines some', 'lines many', 'lines most']

function fitWords(view) {
  for (const letters of LETTERS) {
    view.lines.className = letters
    if (view.said.scrollHeight <= view.said.clientHeight + 1) break
  }
}

function last(view) {
  return data(view).pictures.length + data(view).asked.length - 1
}

function listAsked(view) {
  const d = data(view),
    list = element('ul', 'asked')
  view.shown = { moves: [] }
  list.setAttribute('aria-label', L(view, 'asked'))
  list.append(
    ...d.asked.map((q, i) => {
      const li = element('li'),
        b = view.button('question', () => {
          go(view, d.pictures.length + i)
          view.stage.querySelector('[aria-current]').focus()
        })
      b.textContent = q.title
      if (d.pictures.length + i === view.at) b.setAttribute('aria-current', 'true')
      li.append(b)
      return li
    }),
  )
  view.stage.append(list)
  list.querySelector('[aria-current]').scrollIntoView({ block: 'nearest' })
}

function drawStrip(view) {
  const d = data(view),
    o = look()
  view.strip.setAttribute('aria-label', L(view, 'pictures'))
  view.strip.replaceChildren(
    ...d.pictures.map((p, i) => {
      const li = element('li'),
        b = view.button('small', () => go(view, i)),
        pane = element('span', 'pane')
      drawExplained(pane, p.key, d.drawing, o)
      b.append(pane, element('span', 'name', `${i + 1} ${p.title}`))
      li.append(b)
      return li
    }),
  )
  const li = element('li'),
    b = view.button('small', () => go(view, d.pictures.length)),
    pane = element('span', 'pane sign', '?')
  pane.setAttribute('aria-hidden', 'true')
  b.append(pane, element('span', 'name', `${d.pictures.length + 1} ${L(view, 'asked')}`))
  li.append(b)
  view.strip.append(li)
  mark(view)
}

function mark(view) {
  return [...view.strip.children].forEach((li, i) => {
    if (i === Math.min(view.at, data(view).pictures.length)) li.firstChild.setAttribute('aria-current', 'step')
    else li.firstChild.removeAttribute('aria-current')
  })
}

function play(view, asked) {
  view.stop?.()
  view.stop = null
  if (!view.shown?.moves.length) return
  if (look().still) {
    // without motion: the start for a second, then the end, and only when asked
    if (!asked) return
    for (const m of view.shown.moves) m.hand.to(m.frames[0].angle, 0)
    const wait = setTimeout(() => {
      for (const m of view.shown.moves) m.hand.to(...m.end)
    }, 1000)
    view.stop = () => clearTimeout(wait)
  } else view.stop = playMoves(view.shown.moves)
}

function go(view, to) {
  if (to < 0 || to > last(view)) return
  hush(view)
  const held = view.box.getRootNode().activeElement
  view.at = to
  draw(view)
  mark(view)
  play(view, false)
  // a button that was used up must not take the focus with it
  if (held === view.next && view.next.disabled) view.back.focus()
  if (held === view.back && view.back.disabled) view.next.focus()
}

function sayState(view, yes) {
  view.speaking = yes
  view.read.textContent = L(view, yes ? 'hush' : 'read')
  view.read.setAttribute('aria-pressed', yes)
}

function hush(view) {
  if (view.speaking) speechSynthesis.cancel()
  sayState(view, false)
}

function voiceOf(language) {
  return new Promise(done => {
    const s = window.speechSynthesis,
      has = () => s?.getVoices().find(v => v.lang.toLowerCase().startsWith(language))
    if (!s || has()) {
      done(s && has())
      return
    }
    const wait = setTimeout(() => done(undefined), VOICE_MS)
    s.addEventListener('voiceschanged', () => {
      if (has()) {
        clearTimeout(wait)
        done(has())
      }
    })
  })
}

async function aloud(view) {
  if (view.speaking) {
    hush(view)
    return
  }
  const d = data(view),
    p = d.pictures[view.at] ?? d.asked[view.at - d.pictures.length],
    wanted = view.at
  view.silent.textContent = ''
  const voice = await voiceOf(d.language)
  if (view.at !== wanted) return
  if (!voice) {
    view.silent.textContent = L(view, 'no_voice')
    view.silent.scrollIntoView({ block: 'nearest' })
    return
  }
  const u = new SpeechSynthesisUtterance([/[?!.]$/.test(p.title) ? p.title : p.title + '.', ...p.lines].join(' '))
  u.lang = d.language
  u.voice = voice
  u.rate = 0.9
  u.onend = u.onerror = () => sayState(view, false)
  speechSynthesis.cancel()
  speechSynthesis.speak(u)
  sayState(view, true)
}

function choice(view, key, legend, options) {
  const f = element('fieldset'),
    row = element('div', 'seg')
  f.append(element('legend', '', legend), row)
  for (const [value, text] of options) {
    const l = element('label'),
      i = element('input')
    Object.assign(i, { type: 'radio', name: `gwe-${key}`, value, checked: plain(view.model.ask)[key] === value })
    i.addEventListener('change', () => {
      view.model.ask = { ...plain(view.model.ask), [key]: value }
    })
    l.append(i, element('span', '', text))
    row.append(l)
  }
  return f
}

function openSheet(view) {
  const d = data(view)
  hush(view)
  view.dialog.lang = d.language
  view.name.textContent = view.frame.title = L(view, 'sheet')
  view.name.id = 'gwe-sheet'
  view.dialog.setAttribute('aria-labelledby', 'gwe-sheet')
  view.close.textContent = L(view, 'close')
  view.print.textContent = L(view, 'print')
  view.save.textContent = L(view, 'save')
  view.form.replaceChildren(
    view.print,
    view.save,
    ...[
      [
        'paper',
        L(view, 'paper'),
        [
          ['a4', 'A4'],
          ['letter', 'Letter'],
        ],
      ],
      [
        'size',
        L(view, 'size'),
        [
          ['normal', L(view, 'normal')],
          ['large', L(view, 'large')],
        ],
      ],
      ['language', L(view, 'language'), Object.entries(d.languages)],
    ].map(row => choice(view, ...row)),
  )
  view.dialog.showModal()
  view.fresh = true
  fill(view)
  view.model.ask = { ...plain(view.model.ask), side: look().side, n: plain(view.model.ask).n + 1 }
}

function fill(view) {
  view.print.disabled = !view.model.sheet_html
  if (!view.model.sheet_html) return
  view.frame.srcdoc = view.model.sheet_html
  URL.revokeObjectURL(view.url)
  view.url = URL.createObjectURL(new Blob([view.model.sheet_file], { type: 'text/html' }))
  view.save.href = view.url
  view.save.download = 'graspwave-page-to-take-home.html'
  if (view.fresh && view.dialog.open) {
    view.fresh = false
    view.print.focus()
  }
}

function all(view) {
  view.at = Math.min(view.at, last(view))
  draw(view)
  drawStrip(view)
  sayState(view, false)
}

function layOut(view) {
  view.stage = element('div', 'stage')
  const side = element('div', 'side')
  view.strip = element('ul', 'strip')
  view.count = element('p', 'count')
  view.tried = element('p', 'tried')
  view.title = element('h2')
  view.lines = element('div', 'lines')
  view.silent = element('p', 'silent')
  view.said = element('div', 'said')
  view.said.setAttribute('aria-live', 'polite')
  view.said.append(view.count, view.title, view.tried, view.lines, view.silent)
  view.button = (className, act) => {
    const b = element('button', className)
    b.type = 'button'
    b.addEventListener('click', act)
    return b
  }
  const nav = element('div', 'nav')
  const tools = element('div', 'tools')
  view.progress = element('div', 'progress')
  view.progress.setAttribute('aria-hidden', 'true')
  view.back = view.button('big', () => go(view, view.at - 1))
  view.next = view.button('big strong', () => go(view, view.at + 1))
  view.again = view.button('plain', () => play(view, true))
  view.read = view.button('plain', () => aloud(view))
  view.sheet = view.button('plain', () => openSheet(view))
  nav.append(view.back, view.next)
  tools.append(view.again, view.read, view.sheet)
  view.said.tabIndex = 0
  side.append(view.progress, view.said, nav, tools)
  view.box.append(view.stage, side, view.strip)
}

function layOutSheet(view) {
  view.dialog = element('dialog')
  const head = element('div', 'head')
  view.frame = element('iframe')
  view.form = element('div', 'form')
  view.name = element('h2')
  view.close = view.button('plain', () => view.dialog.close())
  view.print = view.button('big strong', () => {
    view.frame.contentWindow.print()
    view.print.focus()
  })
  view.save = element('a', 'plain link')
  view.dialog.append(head, view.form, view.frame)
  head.append(view.name, view.close)
  view.box.append(view.dialog)
}
