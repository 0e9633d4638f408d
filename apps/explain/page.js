// The Explain page: one picture, few large words, five small pictures; and the sheet, shown and printed.

import { plain } from '../web/plain.js'
import { drawExplained, playMoves } from '../web/five_pictures.js'

const VOICE_MS = 1000 // how long a voice is waited for

const element = (tag, className, text) => {
  const node = document.createElement(tag)
  if (className) node.className = className
  if (text !== undefined) node.textContent = text
  return node
}

export function render({ model }) {
  const box = element('div', 'gwe')
  const stage = element('div', 'stage'),
    side = element('div', 'side'),
    strip = element('ul', 'strip')
  const count = element('p', 'count'),
    tried = element('p', 'tried'),
    title = element('h2'),
    lines = element('div', 'lines'),
    silent = element('p', 'silent')
  const said = element('div', 'said')
  said.setAttribute('aria-live', 'polite')
  said.append(count, title, tried, lines, silent)
  const button = (className, act) => {
    const b = element('button', className)
    b.type = 'button'
    b.addEventListener('click', act)
    return b
  }
  const nav = element('div', 'nav'),
    tools = element('div', 'tools'),
    progress = element('div', 'progress')
  progress.setAttribute('aria-hidden', 'true')
  const back = button('big', () => go(at - 1)),
    next = button('big strong', () => go(at + 1))
  const again = button('plain', () => play(true)),
    read = button('plain', () => aloud()),
    sheet = button('plain', () => openSheet())
  nav.append(back, next)
  tools.append(again, read, sheet)
  said.tabIndex = 0
  side.append(progress, said, nav, tools)
  box.append(stage, side, strip)

  let at = 0,
    stop = null,
    shown = null // past the pictures come the questions
  const data = () => plain(model.data),
    look = () => {
      const c = window.gwLook?.get?.() ?? {}
      return { side: c.side ?? 'left', skin: c.skin ?? 'clay', dark: c.theme === 'dark', still: c.motion === 'less' }
    }
  const L = key => data().labels[key]

  // ---- pictures and words

  const draw = () => {
    const d = data(),
      p = d.pictures[at] ?? d.asked[at - d.pictures.length],
      o = look()
    stop?.()
    stop = null
    box.lang = d.language
    stage.replaceChildren()
    stage.classList.toggle('list', !p.key)
    if (p.key) shown = drawExplained(stage, p.key, d.drawing, { ...o, label: p.seen })
    else listAsked()
    count.textContent = p.key
      ? L('of')
          .replace('{n}', at + 1)
          .replace('{total}', d.pictures.length)
      : L('of_asked')
          .replace('{n}', at + 1 - d.pictures.length)
          .replace('{total}', d.asked.length)
    title.textContent = p.title
    tried.textContent = L('tried')
    tried.hidden = !p.tried
    silent.textContent = ''
    said.scrollTop = 0
    lines.replaceChildren(...p.lines.map(line => element('p', '', line)))
    lines.className = p.lines.length > 5 ? 'lines many' : p.lines.length + (p.tried ? 1 : 0) > 5 ? 'lines some' : 'lines'
    back.textContent = `← ${L('back')}`
    next.textContent = `${L('next')} →`
    back.disabled = at === 0
    next.disabled = at === last()
    again.textContent = L('again')
    again.hidden = !shown.moves.length
    sheet.textContent = L('sheet')
    progress.replaceChildren(
      ...d.pictures.map((_, i) => element('i', i <= at ? 'past' : '')),
      element('i', at >= d.pictures.length ? 'past' : ''),
    )
  }
  const last = () => data().pictures.length + data().asked.length - 1
  const listAsked = () => {
    const d = data(),
      list = element('ul', 'asked')
    shown = { moves: [] }
    list.setAttribute('aria-label', L('asked'))
    list.append(
      ...d.asked.map((q, i) => {
        const li = element('li'),
          b = button('question', () => {
            go(d.pictures.length + i)
            stage.querySelector('[aria-current]').focus()
          })
        b.textContent = q.title
        if (d.pictures.length + i === at) b.setAttribute('aria-current', 'true')
        li.append(b)
        return li
      }),
    )
    stage.append(list)
    list.querySelector('[aria-current]').scrollIntoView({ block: 'nearest' })
  }
  const drawStrip = () => {
    const d = data(),
      o = look()
    strip.setAttribute('aria-label', L('pictures'))
    strip.replaceChildren(
      ...d.pictures.map((p, i) => {
        const li = element('li'),
          b = button('small', () => go(i)),
          pane = element('span', 'pane')
        drawExplained(pane, p.key, d.drawing, o)
        b.append(pane, element('span', 'name', `${i + 1} ${p.title}`))
        li.append(b)
        return li
      }),
    )
    const li = element('li'),
      b = button('small', () => go(d.pictures.length)),
      pane = element('span', 'pane sign', '?')
    pane.setAttribute('aria-hidden', 'true')
    b.append(pane, element('span', 'name', `${d.pictures.length + 1} ${L('asked')}`))
    li.append(b)
    strip.append(li)
    mark()
  }
  const mark = () =>
    [...strip.children].forEach((li, i) => {
      if (i === Math.min(at, data().pictures.length)) li.firstChild.setAttribute('aria-current', 'step')
      else li.firstChild.removeAttribute('aria-current')
    })
  const play = asked => {
    stop?.()
    stop = null
    if (!shown?.moves.length) return
    if (look().still) {
      // without motion: the start for a second, then the end, and only when asked
      if (!asked) return
      for (const m of shown.moves) m.hand.to(m.frames[0].angle, 0)
      const wait = setTimeout(() => {
        for (const m of shown.moves) m.hand.to(...m.end)
      }, 1000)
      stop = () => clearTimeout(wait)
    } else stop = playMoves(shown.moves)
  }
  const go = to => {
    if (to < 0 || to > last()) return
    hush()
    const held = box.getRootNode().activeElement
    at = to
    draw()
    mark()
    play(false)
    // a button that was used up must not take the focus with it
    if (held === next && next.disabled) back.focus()
    if (held === back && back.disabled) next.focus()
  }
  box.addEventListener('keydown', e => {
    if (dialog.open || e.altKey || e.ctrlKey || e.metaKey) return
    if (e.key === 'ArrowRight') {
      go(at + 1)
      e.preventDefault()
    }
    if (e.key === 'ArrowLeft') {
      go(at - 1)
      e.preventDefault()
    }
  })

  // ---- read aloud, by the browser's own voice

  let speaking = false
  const sayState = yes => {
    speaking = yes
    read.textContent = L(yes ? 'hush' : 'read')
    read.setAttribute('aria-pressed', yes)
  }
  const hush = () => {
    if (speaking) speechSynthesis.cancel()
    sayState(false)
  }
  // voices may come late, and a machine may have none, or none of this language
  const voiceOf = language =>
    new Promise(done => {
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
  const aloud = async () => {
    if (speaking) {
      hush()
      return
    }
    const d = data(),
      p = d.pictures[at] ?? d.asked[at - d.pictures.length],
      wanted = at
    silent.textContent = ''
    const voice = await voiceOf(d.language)
    if (at !== wanted) return
    if (!voice) {
      silent.textContent = L('no_voice')
      silent.scrollIntoView({ block: 'nearest' })
      return
    }
    const u = new SpeechSynthesisUtterance([/[?!.]$/.test(p.title) ? p.title : p.title + '.', ...p.lines].join(' '))
    u.lang = d.language
    u.voice = voice
    u.rate = 0.9
    u.onend = u.onerror = () => sayState(false)
    speechSynthesis.cancel()
    speechSynthesis.speak(u)
    sayState(true)
  }

  // ---- the sheet

  const dialog = element('dialog'),
    head = element('div', 'head'),
    frame = element('iframe'),
    form = element('div', 'form')
  const name = element('h2'),
    close = button('plain', () => dialog.close())
  const print = button('big strong', () => {
    frame.contentWindow.print()
    print.focus()
  })
  const save = element('a', 'plain link')
  dialog.append(head, form, frame)
  head.append(name, close)
  box.append(dialog)
  let url = '',
    fresh = false
  const choice = (key, legend, options) => {
    const f = element('fieldset'),
      row = element('div', 'seg')
    f.append(element('legend', '', legend), row)
    for (const [value, text] of options) {
      const l = element('label'),
        i = element('input')
      Object.assign(i, { type: 'radio', name: `gwe-${key}`, value, checked: plain(model.ask)[key] === value })
      i.addEventListener('change', () => {
        model.ask = { ...plain(model.ask), [key]: value }
      })
      l.append(i, element('span', '', text))
      row.append(l)
    }
    return f
  }
  const openSheet = () => {
    const d = data()
    hush()
    dialog.lang = d.language
    name.textContent = frame.title = L('sheet')
    name.id = 'gwe-sheet'
    dialog.setAttribute('aria-labelledby', 'gwe-sheet')
    close.textContent = L('close')
    print.textContent = L('print')
    save.textContent = L('save')
    form.replaceChildren(
      print,
      save,
      ...[
        [
          'paper',
          L('paper'),
          [
            ['a4', 'A4'],
            ['letter', 'Letter'],
          ],
        ],
        [
          'size',
          L('size'),
          [
            ['normal', L('normal')],
            ['large', L('large')],
          ],
        ],
        ['language', L('language'), Object.entries(d.languages)],
      ].map(row => choice(...row)),
    )
    dialog.showModal()
    fresh = true
    fill()
    model.ask = { ...plain(model.ask), side: look().side, n: plain(model.ask).n + 1 }
  }
  const fill = () => {
    print.disabled = !model.sheet_html
    if (!model.sheet_html) return
    frame.srcdoc = model.sheet_html
    URL.revokeObjectURL(url)
    url = URL.createObjectURL(new Blob([model.sheet_file], { type: 'text/html' }))
    save.href = url
    save.download = 'graspwave-page-to-take-home.html'
    if (fresh && dialog.open) {
      fresh = false
      print.focus()
    }
  }
  model.on('sheet_html', fill)

  const all = () => {
    at = Math.min(at, last())
    draw()
    drawStrip()
    sayState(false)
  }
  model.on('data', all)
  const relook = () => {
    draw()
    drawStrip()
  }
  window.addEventListener('gw-look', relook)
  model.on('remove', () => {
    window.removeEventListener('gw-look', relook)
    stop?.()
    if (speaking) speechSynthesis.cancel()
    URL.revokeObjectURL(url)
  })
  all()
  return box
}
