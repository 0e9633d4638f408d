// Draws the sheet's pictures from the data that stand in the page, and fits its words to the paper.

import { drawExplained } from '../web/five_pictures.js'

const held = document.getElementById('data'),
  data = JSON.parse(held.textContent)
for (const host of document.querySelectorAll('[data-picture]'))
  drawExplained(host, host.dataset.picture, data, { label: host.dataset.seen, side: held.dataset.side, skin: 'clay', words: 1.5 })
// A long notice or a longer language: smaller pictures first, then smaller words, until the page holds all.
const fit = () => {
  document.querySelector('main').style.zoom = 1
  for (const page of document.querySelectorAll('.page')) {
    let f = 1,
      p = 1
    const set = () => {
      page.style.setProperty('--f', f.toFixed(2))
      page.style.setProperty('--p', p.toFixed(2))
    }
    for (set(); page.scrollHeight > page.clientHeight + 3 && f > 0.7; set()) p > 0.66 ? (p -= 0.06) : (f -= 0.02)
    page.dataset.fitted = f.toFixed(2)
  }
  const paper = document.querySelector('.page').offsetWidth + 4
  document.querySelector('main').style.zoom = Math.min(1, document.documentElement.clientWidth / paper)
}
fit()
addEventListener('resize', fit)
await document.fonts.load('450 16px "Atkinson Hyperlegible Next"').catch(() => 0)
fit()
document.documentElement.dataset.drawn = ''
