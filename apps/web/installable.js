// Says whether this address can be kept on a home screen with all that belongs to it.

const told = document.getElementById('can'),
  can = window.isSecureContext && 'serviceWorker' in navigator

told.textContent = can
  ? 'This address can be kept: from the home screen Explain opens without the bars of the browser, and says so when its server is away.'
  : 'This address can be kept as a link only: it is plain http of another machine, and browsers let nothing stay behind there. ' +
    'The link opens Explain while the server is near; when it is not, the browser says so in its own words.'
