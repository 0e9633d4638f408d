// What a page says and does when its server is slow or gone, and how it comes back: nothing stale may look fresh.
;(() => {
  'use strict'
  const root = document.documentElement
  let state = 'ok',
    closed = false,
    worker = null,
    leaving = false

  const WORDS = {
    slow: 'The server is busy. What is shown may be old; it will catch up.',
    gone: 'Connection lost: the picture stands still. Trying again.',
  }
  const parts = () => [document.getElementById('main'), ...document.querySelectorAll('.side, .drawer, #actions')].filter(Boolean)

  function say(next) {
    if (next === state) return
    const before = state
    state = next
    const bar = document.getElementById('lost')
    if (bar) {
      bar.hidden = next === 'ok'
      bar.dataset.state = next
      bar.querySelector('p').textContent = WORDS[next] ?? ''
    }
    root.toggleAttribute('data-lost', next === 'gone')
    for (const part of parts()) part.inert = next === 'gone'
    if (next === 'gone') window.dispatchEvent(new Event('gw-lost'))
    if (before === 'gone' && next !== 'gone') window.dispatchEvent(new Event('gw-found'))
  }

  // The address carries the scene, so the page made anew is the same one.
  function heal() {
    // not over and over where no line can be opened at all
    if (leaving || performance.now() < 3000) return
    leaving = true
    location.reload()
  }

  function heard({ data }) {
    if (leaving) return
    if (data.state === 'other') {
      say('gone')
      heal()
    } else if (data.state === 'ok') {
      if (closed) {
        say('gone')
        heal()
      } else say('ok')
    } else if (data.state === 'slow') say(state === 'gone' ? 'gone' : 'slow')
    else say('gone')
  }

  // The session's own line: when it closes, the page can change nothing any more, whatever the server answers.
  const followed = new WeakSet()
  function follow() {
    for (const doc of window.Bokeh?.documents ?? []) {
      if (followed.has(doc)) continue
      followed.add(doc)
      doc.on_event('connection_lost', () => {
        if (!leaving) {
          closed = true
          say('gone')
        }
      })
    }
  }

  // A line that closes before it has brought the page is told by nobody else: asked anew, the server says why.
  window.WebSocket = class extends window.WebSocket {
    constructor(...given) {
      super(...given)
      this.addEventListener('close', () => {
        if (!window.Bokeh?.documents.length) closed = true
      })
    }
  }

  window.addEventListener('pagehide', () => {
    leaving = true
  })
  window.addEventListener('pageshow', event => {
    if (event.persisted) location.reload()
  })
  document.addEventListener(
    'DOMContentLoaded',
    () => {
      try {
        worker = new Worker(document.getElementById('lost').dataset.worker)
        worker.onmessage = heard
        worker.postMessage({ kind: 'watch' })
      } catch {
        /* an old browser: the session's own line still tells */
      }
      setInterval(() => {
        follow()
        worker?.postMessage({ kind: 'here' })
      }, 500)
      follow()
    },
    { once: true },
  )

  window.gwConnection = {
    get state() {
      return state
    },
    hold(name, count) {
      worker?.postMessage({ kind: 'hold', name, count })
    },
    release() {
      worker?.postMessage({ kind: 'release' })
    },
  }
})()
