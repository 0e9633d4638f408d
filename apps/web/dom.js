// Small parts for building pages. Words of people go in as text; only `html` fields that the server made safe go in as HTML.

export function el(tag, attrs = {}, ...children) {
  const node = document.createElement(tag)
  for (const [key, value] of Object.entries(attrs)) {
    if (value === null || value === undefined || value === false) continue
    if (key.startsWith('on')) node.addEventListener(key.slice(2), value)
    else if (key === 'class') node.className = value
    else node.setAttribute(key, value === true ? '' : value)
  }
  add(node, children)
  return node
}

function add(node, children) {
  for (const child of children.flat(Infinity)) if (child !== null && child !== undefined && child !== false) node.append(child)
}

export function fill(node, ...children) {
  node.replaceChildren()
  add(node, children)
  return node
}

// Text of a lesson, made safe by the server.
export function safe(html, attrs = {}, tag = 'div') {
  const node = el(tag, attrs)
  node.innerHTML = html ?? ''
  return node
}

// A lesson's text in the middle of a line: its paragraphs are unwrapped.
export function inline(html, attrs = {}) {
  const node = safe(html, attrs, 'span')
  for (const p of [...node.querySelectorAll(':scope > p')]) p.replaceWith(...p.childNodes)
  return node
}

export const plain = html => safe(html).textContent.replace(/\s+/g, ' ').trim()

export const button = (words, onclick, attrs = {}) => el('button', { type: 'button', class: 'btn', onclick, ...attrs }, words)

// Where there is room for one column only.
export const narrow = matchMedia('(max-width: 699px)')

// One of a few, as one row of buttons that is a radio group to keyboard and screen reader.
export function segments(name, legend, choices, chosen, onchoose) {
  const inputs = choices.map(([value, words]) => {
    const input = el('input', { type: 'radio', name, value: String(value), onchange: () => onchoose(value) })
    input.checked = value === chosen
    return el('label', {}, input, el('span', {}, words))
  })
  return el('fieldset', { class: 'segments' }, el('legend', {}, legend), el('div', { class: 'seg' }, inputs))
}

// Kept things, where the browser allows it; a private window forgets them.
// So does a preview, in which nobody is anybody.
export const previewed = document.getElementById('room')?.dataset.preview === 'yes'
const store = previewed ? new Map() : null
export const kept = store
  ? {
      get: key => store.get(key) ?? null,
      set: (key, value) => {
        store.set(key, value)
      },
      drop: key => {
        store.delete(key)
      },
    }
  : {
      get(key) {
        try {
          return JSON.parse(localStorage.getItem(key))
        } catch {
          return null
        }
      },
      set(key, value) {
        try {
          localStorage.setItem(key, JSON.stringify(value))
        } catch {
          /* nothing can be kept */
        }
      },
      drop(key) {
        try {
          localStorage.removeItem(key)
        } catch {
          /* nothing was kept */
        }
      },
    }

// The key of whoever leads rooms here, for as long as the tab is open.
export const keyHeld = {
  get: () => {
    try {
      return sessionStorage.getItem('gw-key') ?? ''
    } catch {
      return ''
    }
  },
  set: key => {
    try {
      sessionStorage.setItem('gw-key', key)
    } catch {
      /* asked for again */
    }
  },
}

// Says a change politely, once; the same words again are said again.
export function say(words) {
  const node = document.getElementById('said')
  if (node && words) {
    node.textContent = ''
    node.textContent = words
  }
}

export const same = (a, b) => JSON.stringify(a ?? null) === JSON.stringify(b ?? null)

// A made-up name as a name is written.
export const named = handle => (handle ? handle[0].toUpperCase() + handle.slice(1) : '')

export const minutes = m => `${Number.isInteger(m) ? m : Number(m).toFixed(1)} min`

export const code = () => document.getElementById('room')?.dataset.code ?? ''

let lastId = 0
// Crypto's own names need a secure address, which a classroom's network seldom has.
export const newId = () => `${Date.now().toString(36)}-${(++lastId).toString(36)}-${Math.random().toString(36).slice(2, 8)}`

// The scene as the other pages take it in their address: packed, in letters that an address allows.
export async function sceneLink(page, toml) {
  if (!toml || typeof CompressionStream === 'undefined') return `/${page}`
  const packed = new Response(new Blob([toml]).stream().pipeThrough(new CompressionStream('deflate')))
  const bytes = new Uint8Array(await packed.arrayBuffer())
  const text = btoa(String.fromCharCode(...bytes))
    .replaceAll('+', '-')
    .replaceAll('/', '_')
    .replace(/=+$/, '')
  return `/${page}?s=${text}`
}

let linkFor = '',
  linkNode = null
// Opens a bench's scene on the Explore page; the same node while the scene is the same, so that focus stays on it.
export function exploreLink(bench) {
  if (linkFor !== bench.scene) {
    linkFor = bench.scene
    linkNode = el(
      'p',
      { class: 'row' },
      el('a', { class: 'btn', href: '/explore', target: '_blank', rel: 'noopener' }, 'Open this scene in Explore'),
    )
    sceneLink('explore', bench.scene).then(href => {
      linkNode.firstChild.href = href
    })
  }
  return linkNode
}

export async function post(url, body) {
  const response = await fetch(url, {
    method: 'POST',
    headers: { 'Content-Type': 'application/json' },
    body: JSON.stringify(body),
  })
  const type = response.headers.get('Content-Type') ?? ''
  const data = type.includes('json') ? await response.json().catch(() => ({})) : {}
  return { ok: response.ok, status: response.status, data, response }
}

// A file that the browser saves.
export function download(blob, name) {
  const url = URL.createObjectURL(blob),
    a = el('a', { href: url, download: name })
  document.body.append(a)
  a.click()
  a.remove()
  setTimeout(() => URL.revokeObjectURL(url), 10000)
}

// Settings as the server takes them: numbers, and nothing for one that is let free.
export const sendable = settings =>
  Object.fromEntries(Object.entries(settings).filter(([, value]) => value === null || Number.isFinite(value)))

// A bench's pictures for other settings, the newest question only: ten a second at most, and again where the server is busy.
const EVERY_MS = 100,
  TRIES = 5
let asked = null,
  askedAt = -Infinity

const pause = (ms, signal) =>
  new Promise((done, fail) => {
    const timer = setTimeout(done, ms)
    signal.addEventListener('abort', () => {
      clearTimeout(timer)
      fail(signal.reason)
    })
  })

export async function askBench(body) {
  asked?.abort()
  asked = new AbortController()
  const { signal } = asked,
    settings = sendable(body.settings)
  for (let tries = 1; ; tries++) {
    await pause(tries > 1 ? 1000 : Math.max(0, askedAt + EVERY_MS - performance.now()), signal)
    askedAt = performance.now()
    const response = await fetch('/bench', {
      method: 'POST',
      headers: { 'Content-Type': 'application/json' },
      body: JSON.stringify({ ...body, settings }),
      signal,
    })
    const data = await response.json().catch(() => ({}))
    if (response.ok) return data
    if (!data.again || tries === TRIES) throw new Error(data.text ?? 'This could not be worked out. Try again.')
  }
}
