// Stands between the pages and the network of this browser: it changes nothing while the server answers, and says plainly when it
// does not. Nothing but that one page is kept here.

const KEPT = 'graspwave-away-STAMP',
  AWAY = '/app-away',
  LONGEST_MS = 20_000

self.addEventListener('install', event => {
  event.waitUntil(
    caches
      .open(KEPT)
      .then(kept => kept.add(new Request(AWAY, { cache: 'reload' })))
      .then(() => self.skipWaiting()),
  )
})

self.addEventListener('activate', event => {
  const old = names =>
    Promise.all(names.filter(name => name.startsWith('graspwave-') && name !== KEPT).map(name => caches.delete(name)))
  event.waitUntil(
    caches
      .keys()
      .then(old)
      .then(() => self.clients.claim()),
  )
})

async function answered(request) {
  let late = 0
  const patience = new Promise((_, fail) => {
    late = setTimeout(() => fail(new Error('late')), LONGEST_MS)
  })
  try {
    return await Promise.race([fetch(request), patience])
  } catch {
    return (await caches.match(AWAY)) ?? Response.error()
  } finally {
    clearTimeout(late)
  }
}

self.addEventListener('fetch', event => {
  if (event.request.mode === 'navigate' && event.request.method === 'GET') event.respondWith(answered(event.request))
})
