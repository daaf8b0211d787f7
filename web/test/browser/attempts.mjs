// Every way we know by which a page or a worker could reach the network, each under a path of its own. The functions run in
// the browser and must stand alone.

/** Tries all ways of a page. Nothing here waits for an answer: the listener counts what arrives. */
export function fromPage({ http, ws, udp }) {
  const el = (name, props) => document.body.append(Object.assign(document.createElement(name), props))
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
    background: () => {
      const div = document.createElement("div")
      div.style.cssText = `width:9px;height:9px;background-image:url(${http}/background)`
      document.body.append(div)
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
    worker: () => new Worker(URL.createObjectURL(new Blob([`importScripts("${http}/worker")`]))),
    form: () => {
      const form = Object.assign(document.createElement("form"), { action: `${http}/form`, method: "post", target: "sink" })
      document.body.append(form)
      form.submit()
    },
    svg: () => {
      const svg = document.createElementNS("http://www.w3.org/2000/svg", "svg")
      const image = document.createElementNS("http://www.w3.org/2000/svg", "image")
      image.setAttribute("href", `${http}/svg`)
      svg.append(image)
      document.body.append(svg)
    },
    "link-preload": () => head("preload", { as: "image" }),
    "link-modulepreload": () => head("modulepreload"),
    "link-prefetch": () => head("prefetch"),
    "link-icon": () => head("icon"),
    rtc: () => {
      const peer = new RTCPeerConnection({ iceServers: [{ urls: udp }] })
      peer.createDataChannel("x")
      return peer.createOffer().then((offer) => peer.setLocalDescription(offer))
    },
  }
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
export function fromWorker({ http, ws }) {
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
