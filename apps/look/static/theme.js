// Look of the page: theme, text size, skin tone, arm, motion and layout as attributes of <html>, set before the first paint.
;(() => {
  'use strict'
  const root = document.documentElement
  const KEY = 'gw-look'
  const CHOICES = {
    theme: ['system', 'light', 'dark'],
    size: ['1', '2', '3'],
    skin: ['clay', 'sand', 'umber', 'deep'],
    side: ['left', 'right'],
    motion: ['system', 'full', 'less'],
  }
  const dark = matchMedia('(prefers-color-scheme: dark)')
  const still = matchMedia('(prefers-reduced-motion: reduce)')
  const desk = matchMedia('(min-width: 1360px) and (min-height: 800px)')
  const wall = matchMedia('(min-width: 860px) and (min-height: 440px)')

  const read = () => {
    let kept = {}
    try {
      kept = JSON.parse(localStorage.getItem(KEY)) || {}
    } catch {
      kept = {}
    }
    const out = {}
    for (const [k, all] of Object.entries(CHOICES)) out[k] = all.includes(kept[k]) ? kept[k] : all[0]
    return out
  }
  let choice = read()

  const resolved = () => ({
    theme: choice.theme === 'system' ? (dark.matches ? 'dark' : 'light') : choice.theme,
    size: choice.size,
    skin: choice.skin,
    side: choice.side,
    motion: choice.motion === 'system' ? (still.matches ? 'less' : 'full') : choice.motion,
    layout: root.hasAttribute('data-show') ? 'wall' : desk.matches ? 'desk' : wall.matches ? 'wall' : 'phone',
  })

  const css = token =>
    getComputedStyle(root)
      .getPropertyValue('--' + token.replaceAll('_', '-'))
      .trim()

  // Models tagged {"paint": {property: token}} take the colours of the page, and those tagged {"rem": {property: size}}
  // its text size (larger on the wall, where plots are read from afar), all without the server.
  // On the wall plots are read from afar; who has chosen larger text has larger plots already.
  const letter = () => {
    const afar = root.dataset.layout === 'wall' && root.dataset.size === '1'
    return parseFloat(getComputedStyle(root).fontSize) * (root.hasAttribute('data-show') ? 1.4 : afar ? 1.15 : 1)
  }
  const pairs = map => (map instanceof Map ? [...map] : Object.entries(map ?? {}))
  const paint = redraw => {
    if (!window.Bokeh) return
    const rem = letter()
    for (const doc of Bokeh.documents)
      for (const m of doc.all_models) {
        const values = {}
        for (const t of m.tags ?? []) {
          if (typeof t !== 'object' || !t) continue
          const of = key => pairs(t[key] ?? t.get?.(key))
          for (const [k, token] of of('paint')) {
            const c = css(token)
            if (c) values[k] = c
          }
          for (const [k, size] of of('rem')) values[k] = `${(rem * size).toFixed(1)}px`
        }
        if (!Object.keys(values).length) continue
        m.setv(values, { sync: false })
        if (redraw) m.change?.emit?.()
      }
  }

  const apply = (tell = true) => {
    const now = resolved()
    for (const [k, v] of Object.entries(now)) root.setAttribute('data-' + k, v)
    try {
      document.cookie = `gw_theme=${now.theme};path=/;max-age=31536000;SameSite=Lax`
    } catch {
      /* no cookies: Python draws light first */
    }
    if (!tell) return
    paint(false)
    window.dispatchEvent(new CustomEvent('gw-look', { detail: { ...now } }))
  }
  apply(false)
  for (const m of [dark, still, desk, wall])
    m.addEventListener('change', () => {
      apply()
      place()
    })
  window.gwLook = { get: resolved, css, paint, letter }

  let place = () => {}
  const ready = () => {
    const page = {}

    aaMenu()

    openParts(page)

    makeTabs(page)

    lowerHalf()

    layOut(page)

    showButton(page)

    // The long list of cautions.
    const dialog = $('cautions')
    $('cautions-btn')?.addEventListener('click', () => dialog.showModal())
    $('cautions-close')?.addEventListener('click', () => dialog.close())

    paintOnce()
  }

  function $(id) {
    return document.getElementById(id)
  }

  // The Aa menu.
  function aaMenu() {
    for (const input of document.querySelectorAll('[data-look]')) {
      input.checked = choice[input.dataset.look] === input.value
      input.addEventListener('change', () => {
        choice = { ...choice, [input.dataset.look]: input.value }
        try {
          localStorage.setItem(KEY, JSON.stringify(choice))
        } catch {
          /* private window: the choice lasts for this page */
        }
        apply()
        place()
      })
    }
  }

  // Buttons that open a part of the page.
  function openParts(page) {
    page.isOpen = b => b.getAttribute('aria-expanded') === 'true'
    // On a phone the settings cover the page, so nothing behind them may take the focus.
    page.cover = yes => {
      for (const part of $('main').children) part.inert = yes && root.dataset.layout === 'phone'
    }
    const open = (button, yes, back = true) => {
      const part = $(button.dataset.opens)
      if (page.isOpen(button) === yes || !part) return
      button.setAttribute('aria-expanded', yes)
      part.toggleAttribute('data-open', yes)
      if (part.classList.contains('aa')) part.hidden = !yes
      if (part.id === 'settings') {
        root.toggleAttribute('data-settings', yes)
        page.cover(yes)
        if (yes) part.querySelector('[data-closes]').focus({ preventScroll: true })
      }
      if (yes && part.id === 'pages') part.querySelector('a')?.focus()
      if (yes && part.id === 'aa') part.querySelector('input:checked')?.focus()
      if (!yes && back) button.focus()
    }
    page.openers = [...document.querySelectorAll('[data-opens]')]
    for (const b of page.openers)
      b.addEventListener('click', () => {
        for (const other of page.openers) if (other !== b && other.dataset.opens !== 'settings') open(other, false, false)
        open(b, !page.isOpen(b))
      })
    for (const b of document.querySelectorAll('[data-closes]'))
      b.addEventListener('click', () =>
        open(
          page.openers.find(o => o.dataset.opens === b.dataset.closes),
          false,
        ),
      )
    document.addEventListener('keydown', e => {
      if (e.key !== 'Escape' || $('cautions')?.open) return
      const b = page.openers.find(o => o.dataset.opens !== 'settings' && page.isOpen(o)) ?? page.openers.find(page.isOpen)
      if (b) {
        open(b, false)
        e.preventDefault()
      }
    })
    document.addEventListener('pointerdown', e => {
      for (const b of page.openers)
        if (b.dataset.opens !== 'settings' && page.isOpen(b) && !b.contains(e.target) && !$(b.dataset.opens).contains(e.target))
          open(b, false, false)
    })
    $('aa')?.addEventListener('focusout', e => {
      const b = page.openers.find(o => o.dataset.opens === 'aa')
      if (e.relatedTarget && !$('aa').contains(e.relatedTarget) && e.relatedTarget !== b) open(b, false, false)
    })
  }

  // Tabs on a phone.
  function makeTabs(page) {
    page.tabs = [...document.querySelectorAll('button[data-tab]')]
    const select = (tab, focus) => {
      root.dataset.tab = tab.dataset.tab
      for (const t of page.tabs) {
        t.setAttribute('aria-selected', t === tab)
        t.tabIndex = t === tab ? 0 : -1
        $('area-' + t.dataset.tab).classList.toggle('shown', t === tab)
      }
      if (focus) tab.focus()
      window.dispatchEvent(new Event('resize'))
    }
    page.tabs.forEach((t, i) => {
      t.addEventListener('click', () => select(t))
      t.addEventListener('keydown', e => {
        const to = { ArrowRight: i + 1, ArrowLeft: i - 1, Home: 0, End: page.tabs.length - 1 }[e.key]
        if (to === undefined) return
        e.preventDefault()
        select(page.tabs[(to + page.tabs.length) % page.tabs.length], true)
      })
    })
    if (page.tabs.length) select(page.tabs[0])
  }

  // One button to the lower half where the page is low.
  function lowerHalf() {
    const main = $('main'),
      lower = $('lower-btn'),
      target = $('area-time') ?? $('area-notices')
    if (lower && target) {
      const below = () => main.scrollTop > 40
      const down = $('area-time') ? 'Show time' : 'Show notices'
      const name = () => {
        lower.textContent = below() ? 'Show hand' : down
      }
      name()
      lower.addEventListener('click', () => {
        const top = below() ? 0 : main.scrollTop + target.getBoundingClientRect().top - main.getBoundingClientRect().top
        main.scrollTo({ top, behavior: root.dataset.motion === 'less' ? 'instant' : 'smooth' })
      })
      main.addEventListener('scroll', name, { passive: true })
    }
  }

  // Layout: what CSS alone cannot move or name.
  function layOut(page) {
    const actions = $('actions'),
      home = actions?.parentElement
    place = () => {
      const layout = root.dataset.layout
      for (const t of page.tabs) {
        const area = $('area-' + t.dataset.tab)
        if (layout === 'phone') {
          area.setAttribute('role', 'tabpanel')
          area.setAttribute('aria-labelledby', t.id)
        } else {
          area.removeAttribute('role')
          area.setAttribute('aria-labelledby', 'head-' + t.dataset.tab)
        }
      }
      if (actions) {
        const phone = layout === 'phone' && $('actions-phone')
        if (phone && actions.parentElement !== phone) phone.append(actions)
        if (!phone && actions.parentElement !== home) home.prepend(actions)
      }
      const b = page.openers.find(o => o.dataset.opens === 'settings')
      page.cover(!!b && page.isOpen(b))
    }
    place()
  }

  // Show: hand, curve and one sentence, as large as the window lets them be; F or the button, and back with F or Escape.
  function showButton(page) {
    const show = $('show-btn')
    const turn = yes => {
      root.toggleAttribute('data-show', yes)
      show.setAttribute('aria-pressed', yes)
      show.textContent = yes ? 'Back to all (F)' : 'Show'
      apply()
      place()
      window.dispatchEvent(new Event('resize'))
    }
    if (show) {
      show.addEventListener('click', () => turn(!root.hasAttribute('data-show')))
      document.addEventListener('keydown', e => {
        const at = e.composedPath()[0],
          writes =
            at?.isContentEditable || (/^(INPUT|TEXTAREA|SELECT)$/.test(at?.tagName) && at.type !== 'range' && at.type !== 'radio')
        if (e.ctrlKey || e.metaKey || e.altKey || writes || $('cautions')?.open) return
        if (e.key.toLowerCase() === 'f') {
          turn(!root.hasAttribute('data-show'))
          e.preventDefault()
        } else if (e.key === 'Escape' && root.hasAttribute('data-show') && !page.openers.some(page.isOpen)) turn(false)
      })
    }
  }

  // Plots are measured with the font, and painted in the theme, once both are there.
  function paintOnce() {
    const fonts = Promise.all(['450 16px', '700 16px'].map(f => document.fonts.load(`${f} "Atkinson Hyperlegible Next"`)))
    let known = 0
    const settle = () => {
      const docs = window.Bokeh?.documents ?? []
      const count = docs.reduce((n, d) => n + d.all_models.size, 0)
      if (count && count === known) {
        fonts.finally(() => paint(true))
        // A view that is opened later brings plots of its own: they are painted once they are there.
        let due = 0
        const grown = () => {
          const now = docs.reduce((n, d) => n + d.all_models.size, 0)
          if (now !== known) {
            known = now
            clearTimeout(due)
            due = setTimeout(() => paint(true), 80)
          }
        }
        for (const d of docs) d.on_change(grown)
        return
      }
      known = count
      setTimeout(settle, 60)
    }
    settle()
  }
  // The first words go for good once what they stand for is there: two sets of the same words would be read and found.
  function firstWordsGo() {
    for (const words of document.querySelectorAll('.coming')) {
      const place = words.nextElementSibling
      const watch = new MutationObserver(() => {
        if (!place.childElementCount) return
        watch.disconnect()
        words.remove()
      })
      watch.observe(place, { childList: true })
    }
  }
  // Once: Panel sends this event a second time.
  document.addEventListener(
    'DOMContentLoaded',
    () => {
      firstWordsGo()
      ready()
    },
    { once: true },
  )
})()
