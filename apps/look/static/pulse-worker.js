// Asks the server for its pulse, and beats for a held switch, apart from the page: a page that is busy drawing does neither late.
'use strict'
const EVERY_MS = 900,
  ANSWER_MS = 1800,
  BEAT_MS = 250,
  PAGE_MS = 10000
let server = null,
  beating = 0,
  count = 0,
  pageAt = Date.now()

async function pulse() {
  const began = Date.now()
  let state = 'ok'
  try {
    const answer = await fetch('/pulse', { cache: 'no-store', signal: AbortSignal.timeout(ANSWER_MS) })
    if (answer.status === 404) return // a server without a pulse: the session's own line tells what can be told
    const id = (await answer.text()).trim()
    if (!answer.ok || !/^[0-9a-f]{8}$/.test(id)) state = 'gone'
    else if (server === null) server = id
    else if (id !== server) state = 'other'
  } catch (error) {
    // no answer in time: slow, or a cable out; refused or unreachable: gone
    state = error.name === 'TimeoutError' ? 'slow' : 'gone'
  }
  postMessage({ state })
  setTimeout(pulse, Math.max(150, EVERY_MS - (Date.now() - began)))
}

async function beat(name) {
  if (beating !== name) return
  // a page that has not said a word for so long hangs: its switch must not stay down for it
  if (Date.now() - pageAt < PAGE_MS) {
    try {
      const answer = await fetch(`/beat/${name}`, { method: 'POST', cache: 'no-store', signal: AbortSignal.timeout(ANSWER_MS) })
      if (answer.status === 410) return
    } catch {
      /* the pulse tells */
    }
  }
  setTimeout(() => beat(name), BEAT_MS)
}

// That a hold has ended is told here too: what the page itself says may wait behind what it is being told.
function end() {
  if (beating) fetch(`/beat/${beating}/${count}`, { method: 'POST', cache: 'no-store' }).catch(() => {})
  beating = 0
}

onmessage = ({ data }) => {
  pageAt = Date.now()
  if (data.kind === 'watch') pulse()
  if (data.kind === 'hold') {
    beating = data.name
    count = data.count
    beat(data.name)
  }
  if (data.kind === 'release') end()
}
