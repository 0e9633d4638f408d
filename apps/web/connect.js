// The line to a room: opened again when it breaks, with answers kept until the server has said that it keeps them.

import { kept, newId, previewed } from './dom.js'

const FIRST_WAIT_S = 0.3,
  LONGEST_WAIT_S = 3,
  BEAT_S = 10,
  SILENCE_S = 25

// `on` has message(m), status('opening' | 'open' | 'lost'), kept(m) and refused(m). Closing codes 4000-4999 are final.
export function connect({ code, role, token, on }) {
  if (previewed) return pretended(on)
  const key = `gw-out-${code}-${role}`
  const url = `${location.protocol === 'https:' ? 'wss' : 'ws'}://${location.host}/room/${code}/live`
  let socket = null,
    wait = FIRST_WAIT_S,
    heard = 0,
    beat = 0,
    retry = 0,
    over = false,
    welcome = false,
    last = null

  const waiting = () => kept.get(key) ?? []
  const hold = messages => (messages.length ? kept.set(key, messages) : kept.drop(key))
  const raw = message => {
    if (socket?.readyState !== WebSocket.OPEN) return false
    socket.send(JSON.stringify(message))
    return true
  }
  // Answers again, in order: the same id, step and round, so that nothing counts twice.
  const resend = () => {
    for (const message of waiting()) raw(message)
  }

  const settle = message => hold(waiting().filter(other => other.id !== message.id))

  // A scene that is shown comes without the step that it stands in: it is put into the state that came before.
  const whole = message => {
    if (message.type === 'welcome') last = message.state
    else if (message.type === 'state') last = message
    else if (message.type === 'counts' && last) {
      const { type, version, ...counts } = message
      last = { ...last, counts }
    } else if (message.type === 'mirror' && last) return (last = { ...last, ...message, type: 'state' })
    return message
  }

  const take = event => {
    heard = performance.now()
    let message
    try {
      message = whole(JSON.parse(event.data))
    } catch {
      return
    }
    if (message.type === 'beat') return
    if (message.type === 'welcome') {
      welcome = true
      wait = FIRST_WAIT_S
      on.message(message)
      on.status('open')
      resend()
      return
    }
    if (message.type === 'kept') {
      settle(message)
      on.kept?.(message)
      return
    }
    if (message.type === 'refused') {
      const known = waiting().find(other => other.id === message.id)
      if (!message.again) settle(message)
      else if (known)
        setTimeout(() => {
          if (waiting().some(other => other.id === known.id)) raw(known)
        }, 1000)
      on.refused?.(message, known)
      return
    }
    on.message(message)
  }

  const lost = event => {
    socket = null
    welcome = false
    clearInterval(beat)
    if (over) return
    if (event.code >= 4000) {
      over = true
      on.closed?.(event)
      return
    }
    on.status('lost')
    // A little apart, so that a whole class does not come back in the same instant.
    clearTimeout(retry)
    retry = setTimeout(open, wait * 1000 * (0.75 + Math.random() / 2))
    wait = Math.min(2 * wait, LONGEST_WAIT_S)
  }

  function open() {
    clearTimeout(retry)
    if (socket || over) return
    on.status('opening')
    const mine = new WebSocket(url)
    socket = mine
    heard = performance.now()
    mine.onopen = () => raw({ type: 'hello', id: newId(), role, token })
    mine.onmessage = event => {
      if (socket === mine) take(event)
    }
    mine.onclose = event => {
      if (socket === mine) lost(event)
    }
    clearInterval(beat)
    beat = setInterval(() => {
      if (performance.now() - heard > SILENCE_S * 1000) {
        mine.onclose = null
        mine.close()
        lost({ code: 1006 })
      } else raw({ type: 'beat' })
    }, BEAT_S * 1000)
  }
  // A phone that wakes, or comes back into the network, does not wait for its turn.
  const again = () => {
    if (!socket && !over && document.visibilityState !== 'hidden') {
      wait = FIRST_WAIT_S
      open()
    }
  }
  addEventListener('online', again)
  document.addEventListener('visibilitychange', again)
  open()

  return {
    send: message => raw({ id: newId(), ...message }),
    answer(step, round, answer, sure) {
      const message = { type: 'answer', id: newId(), step, round, answer, sure }
      hold([...waiting().filter(other => other.step !== step || other.round !== round), message])
      return welcome && raw(message)
    },
    unsent: (step, round) => waiting().find(other => other.step === step && other.round === round) ?? null,
    forget: () => kept.drop(key),
    retry: () => {
      wait = FIRST_WAIT_S
      again()
    },
    close() {
      over = true
      clearTimeout(retry)
      clearInterval(beat)
      socket?.close()
    },
  }
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
