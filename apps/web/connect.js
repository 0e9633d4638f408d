// The line to a room: opened again when it breaks, with answers kept until the server has said that it keeps them.

import { kept, newId, previewed } from './dom.js'

const FIRST_WAIT_S = 0.3,
  LONGEST_WAIT_S = 3,
  BEAT_S = 10,
  SILENCE_S = 25

// `on` has message(m), status('opening' | 'open' | 'lost'), kept(m) and refused(m). Closing codes 4000-4999 are final.
export function connect({ code, role, token, on }) {
  const line = { role, token, on }
  if (previewed) return pretended(line.on)
  const key = `gw-out-${code}-${line.role}`
  line.url = `${location.protocol === 'https:' ? 'wss' : 'ws'}://${location.host}/room/${code}/live`
  line.socket = null
  line.wait = FIRST_WAIT_S
  line.heard = 0
  line.beat = 0
  line.retry = 0
  line.over = false
  line.welcome = false
  let last = null

  line.waiting = () => kept.get(key) ?? []
  const hold = messages => (messages.length ? kept.set(key, messages) : kept.drop(key))
  line.raw = message => {
    if (line.socket?.readyState !== WebSocket.OPEN) return false
    line.socket.send(JSON.stringify(message))
    return true
  }
  // Answers again, in order: the same id, step and round, so that nothing counts twice.
  line.resend = () => {
    for (const message of line.waiting()) line.raw(message)
  }

  line.settle = message => hold(line.waiting().filter(other => other.id !== message.id))

  // A scene that is shown comes without the step that it stands in: it is put into the state that came before.
  line.whole = message => {
    if (message.type === 'welcome') last = message.state
    else if (message.type === 'state') last = message
    else if (message.type === 'counts' && last) {
      const { type, version, ...counts } = message
      last = { ...last, counts }
    } else if (message.type === 'mirror' && last) return (last = { ...last, ...message, type: 'state' })
    return message
  }

  // A phone that wakes, or comes back into the network, does not wait for its turn.
  const again = () => {
    if (!line.socket && !line.over && document.visibilityState !== 'hidden') {
      line.wait = FIRST_WAIT_S
      open(line)
    }
  }
  addEventListener('online', again)
  document.addEventListener('visibilitychange', again)
  open(line)

  return {
    send: message => line.raw({ id: newId(), ...message }),
    answer(step, round, answer, sure) {
      const message = { type: 'answer', id: newId(), step, round, answer, sure }
      hold([...line.waiting().filter(other => other.step !== step || other.round !== round), message])
      return line.welcome && line.raw(message)
    },
    unsent: (step, round) => line.waiting().find(other => other.step === step && other.round === round) ?? null,
    forget: () => kept.drop(key),
    retry: () => {
      line.wait = FIRST_WAIT_S
      again()
    },
    close() {
      line.over = true
      clearTimeout(line.retry)
      clearInterval(line.beat)
      line.socket?.close()
    },
  }
}

function take(line, event) {
  line.heard = performance.now()
  let message
  try {
    message = line.whole(JSON.parse(event.data))
  } catch {
    return
  }
  if (message.type === 'beat') return
  if (message.type === 'welcome') {
    line.welcome = true
    line.wait = FIRST_WAIT_S
    line.on.message(message)
    line.on.status('open')
    line.resend()
    return
  }
  if (message.type === 'kept') {
    line.settle(message)
    line.on.kept?.(message)
    return
  }
  if (message.type === 'refused') {
    const known = line.waiting().find(other => other.id === message.id)
    if (!message.again) line.settle(message)
    else if (known)
      setTimeout(() => {
        if (line.waiting().some(other => other.id === known.id)) line.raw(known)
      }, 1000)
    line.on.refused?.(message, known)
    return
  }
  line.on.message(message)
}

function lost(line, event) {
  line.socket = null
  line.welcome = false
  clearInterval(line.beat)
  if (line.over) return
  if (event.code >= 4000) {
    line.over = true
    line.on.closed?.(event)
    return
  }
  line.on.status('lost')
  // A little apart, so that a whole class does not come back in the same instant.
  clearTimeout(line.retry)
  line.retry = setTimeout(() => open(line), line.wait * 1000 * (0.75 + Math.random() / 2))
  line.wait = Math.min(2 * line.wait, LONGEST_WAIT_S)
}

function open(line) {
  clearTimeout(line.retry)
  if (line.socket || line.over) return
  line.on.status('opening')
  const mine = new WebSocket(line.url)
  line.socket = mine
  line.heard = performance.now()
  mine.onopen = () => line.raw({ type: 'hello', id: newId(), role: line.role, token: line.token })
  mine.onmessage = event => {
    if (line.socket === mine) take(line, event)
  }
  mine.onclose = event => {
    if (line.socket === mine) lost(line, event)
  }
  clearInterval(line.beat)
  line.beat = setInterval(() => {
    if (performance.now() - line.heard > SILENCE_S * 1000) {
      mine.onclose = null
      mine.close()
      lost(line, { code: 1006 })
    } else line.raw({ type: 'beat' })
  }, BEAT_S * 1000)
}

// In a preview the page around it says what a room would; what is sent goes nowhere, and is kept as a room would keep it.
function pretended(on) {
  addEventListener('message', event => {
    if (event.source !== parent || event.origin !== location.origin || event.data?.type !== 'welcome') return
    on.message(event.data)
    on.status('open')
  })
  parent.postMessage({ type: 'ready' }, location.origin)
  const nothing = () => {}
  return {
    send: () => true,
    answer(step, round) {
      setTimeout(() => on.kept?.({ step, round }))
      return true
    },
    unsent: () => null,
    forget: nothing,
    retry: nothing,
    close: nothing,
  }
}
