// Every way we know by which a page or a worker could reach the network, each under a path of its own. The functions run in
// the browser and must stand alone.

/** Tries all ways of a page. Nothing here waits for an answer: the listener counts what arrives. */
export function fromPage({ http, ws, udp, quic }) {
  const made = (name, props) => Object.assign(document.createElement(name), props)
  const el = (name, props) => document.body.append(made(name, props))
  const styled = (text) => {
    const div = made("div", { textContent: "x" })
    div.style.cssText = `width:9px;height:9px;${text}`
    document.body.append(div)
  }
  const drawn = (inside) => el("div", { innerHTML: `<svg width="20" height="20">${inside}</svg>` })
  const head = (rel, more = {}) => document.head.append(Object.assign(document.createElement("link"), { rel, href: `${http}/link-${rel}`, ...more }))
  const frame = Object.assign(document.createElement("iframe"), { name: "sink" })
  document.body.append(frame)
  const ways = {
    fetch: () => fetch(`${http}/fetch`, { mode: "no-cors" }),
    keepalive: () => fetch(`${http}/keepalive`, { mode: "no-cors", method: "POST", body: "x", keepalive: true }),
    xhr: () => {
      const x = new XMLHttpRequest()
      x.open("GET", `${http}/xhr`)
      x.send()
    },
    websocket: () => new WebSocket(`${ws}/websocket`),
    eventsource: () => new EventSource(`${http}/eventsource`),
    beacon: () => navigator.sendBeacon(`${http}/beacon`, "x"),
    image: () => (new Image().src = `${http}/image`),
    srcset: () => el("img", { srcset: `${http}/srcset 1x` }),
    picture: () => el("picture", { innerHTML: `<source srcset="${http}/picture"><img>` }),
    poster: () => el("video", { poster: `${http}/poster` }),
    "input-image": () => el("input", { type: "image", src: `${http}/input-image` }),
    table: () => el("div", { innerHTML: `<table background="${http}/table"><td>x</table>` }),
    track: () => {
      const video = made("video", { src: "data:video/mp4;base64,AAAA", crossOrigin: "anonymous" })
      const track = made("track", { src: `${http}/track`, kind: "subtitles", default: true })
      video.append(track)
      document.body.append(video)
      track.track.mode = "showing"
    },
    background: () => styled(`background-image:url(${http}/background)`),
    cursor: () => styled(`cursor:url(${http}/cursor),auto`),
    content: () => styled(`content:url(${http}/content)`),
    mask: () => styled(`mask-image:url(${http}/mask)`),
    border: () => styled(`border:3px solid;border-image-source:url(${http}/border)`),
    list: () => styled(`display:list-item;list-style-image:url(${http}/list)`),
    shape: () => styled(`float:left;shape-outside:url(${http}/shape)`),
    adopted: () => {
      const more = new CSSStyleSheet()
      more.replaceSync(`@font-face { font-family: adopted; src: url(${http}/adopted) }`)
      document.adoptedStyleSheets = [...document.adoptedStyleSheets, more]
      styled("font-family:adopted")
    },
    style: () => head("stylesheet", { href: `${http}/style` }),
    import: () => el("style", { textContent: `@import url(${http}/import)` }),
    script: () => el("script", { src: `${http}/script` }),
    module: () => el("script", { type: "module", src: `${http}/module` }),
    frame: () => el("iframe", { src: `${http}/frame` }),
    object: () => el("object", { data: `${http}/object` }),
    embed: () => el("embed", { src: `${http}/embed` }),
    video: () => el("video", { src: `${http}/video`, preload: "auto" }),
    audio: () => el("audio", { src: `${http}/audio`, preload: "auto" }),
    font: () => new FontFace("x", `url(${http}/font)`).load(),
    "import-call": () => import(`${http}/import-call`),
    worklet: () => CSS.paintWorklet.addModule(`${http}/worklet`),
    worker: () => new Worker(URL.createObjectURL(new Blob([`importScripts("${http}/worker")`]))),
    form: () => {
      const form = Object.assign(document.createElement("form"), { action: `${http}/form`, method: "post", target: "sink" })
      document.body.append(form)
      form.submit()
    },
    svg: () => drawn(`<image href="${http}/svg"/>`),
    "svg-filter": () => drawn(`<filter id="f"><feImage href="${http}/svg-filter"/></filter><rect width="9" height="9" filter="url(#f)"/>`),
    "svg-fill": () => drawn(`<rect width="9" height="9" fill="url(${http}/svg-fill#f)"/>`),
    "link-preload": () => head("preload", { as: "image" }),
    "link-modulepreload": () => head("modulepreload"),
    "link-prefetch": () => head("prefetch"),
    "link-icon": () => head("icon"),
    "link-manifest": () => head("manifest"),
    speculation: () => el("script", { type: "speculationrules", textContent: JSON.stringify({ prefetch: [{ source: "list", urls: [`${http}/speculation`], eagerness: "immediate" }] }) }),
    later: () => fetchLater(`${http}/later`, { activateAfter: 0 }),
    payment: () => new PaymentRequest([{ supportedMethods: `${http}/payment` }], { total: { label: "x", amount: { currency: "EUR", value: "1" } } }).canMakePayment(),
    identity: () => navigator.credentials.get({ identity: { providers: [{ configURL: `${http}/identity`, clientId: "1" }] } }),
    stream: () => new WebSocketStream(`${ws}/stream`),
    transport: () => new WebTransport(`${quic}/transport`).ready,
    "frame-fetch": () => {
      const empty = made("iframe", {})
      document.body.append(empty)
      return empty.contentWindow.fetch(`${http}/frame-fetch`, { mode: "no-cors" })
    },
    "frame-inside": () => el("iframe", { srcdoc: `<img src="${http}/frame-inside">` }),
    rtc: () => {
      const peer = new RTCPeerConnection({ iceServers: [{ urls: udp }] })
      peer.createDataChannel("x")
      return peer.createOffer().then((offer) => peer.setLocalDescription(offer))
    },
  }
  // A page from a file has none of these.
  const served = {
    service: () => navigator.serviceWorker.register(`${http}/service`),
    shared: () => new SharedWorker(`${http}/shared`),
    "worker-script": () => new Worker(`${http}/worker-script`),
    "worker-module": () => new Worker(`${http}/worker-module`, { type: "module" }),
  }
  if (location.protocol !== "file:") Object.assign(ways, served)
  for (const way of Object.values(ways)) {
    try {
      Promise.resolve(way()).catch(() => undefined)
    } catch {
      // Refused at once; what counts is what arrives.
    }
  }
  return Object.keys(ways)
}

/** Tries all ways of a worker. */
export function fromWorker({ http, ws, workerQuic }) {
  const ways = {
    fetch: () => fetch(`${http}/worker-fetch`, { mode: "no-cors" }),
    xhr: () => {
      const x = new XMLHttpRequest()
      x.open("GET", `${http}/worker-xhr`)
      x.send()
    },
    websocket: () => new WebSocket(`${ws}/worker-websocket`),
    eventsource: () => new EventSource(`${http}/worker-eventsource`),
    scripts: () => importScripts(`${http}/worker-scripts`),
    nested: () => new Worker(URL.createObjectURL(new Blob([`fetch("${http}/worker-nested", { mode: "no-cors" })`]))),
    import: () => import(`${http}/worker-import`),
    font: () => new FontFace("x", `url(${http}/worker-font)`).load(),
    cache: () => caches.open("x").then((c) => c.add(new Request(`${http}/worker-cache`, { mode: "no-cors" }))),
    stream: () => new WebSocketStream(`${ws}/worker-stream`),
    transport: () => new WebTransport(`${workerQuic}/x`).ready,
  }
  for (const way of Object.values(ways)) {
    try {
      Promise.resolve(way()).catch(() => undefined)
    } catch {
      // Refused at once; what counts is what arrives.
    }
  }
  return Object.keys(ways).map((name) => `worker-${name}`)
}

/** Tries what no policy of a page governs: the scripts must not name any of it. */
export function ungoverned({ http, knock, framed }) {
  document.head.append(Object.assign(document.createElement("link"), { rel: "preconnect", href: knock }))
  const frame = document.createElement("iframe")
  document.body.append(frame)
  const peer = new frame.contentWindow.RTCPeerConnection({ iceServers: [{ urls: framed }] })
  peer.createDataChannel("x")
  void peer.createOffer().then((offer) => peer.setLocalDescription(offer))
  window.open(`${http}/window`)
  return ["knock", "framed", "window"]
}
