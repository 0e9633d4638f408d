// Keeps this page on a home screen, where the browser allows it: on this machine's own address, or over https.
if (window.isSecureContext && 'serviceWorker' in navigator)
  navigator.serviceWorker.register('/app-worker.js').catch(() => {
    // a private window keeps nothing: the page works all the same
  })
