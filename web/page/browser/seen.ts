// Runs in every page before its own script, and counts what the page asks and draws. It changes nothing that the page
// sees.

/** What was counted. */
export interface Seen {
  begun: boolean // a first question was asked
  open: number // questions on their way, of any kind
  long: number // answers of them that come in pieces
  sweeps: number // sweeps on their way
  most: number // most sweeps that were on their way at once
  answers: number // sweeps answered
  drawn: number // display frames that showed an answer which no frame had shown before
  usable: number // ms from the start of loading until the first control stood on the page
}

/** Handed to the browser as text: it may use nothing from outside itself. */
export function watch(): void {
  if (location.protocol === 'about:') return // a page that waits for its next test
  const seen: Seen = { begun: false, open: 0, long: 0, sweeps: 0, most: 0, answers: 0, drawn: 0, usable: 0 }
  window.seen = seen
  document.addEventListener('securitypolicyviolation', (e) => console.error(`content policy: ${e.violatedDirective} ${e.blockedURI}`))

  const asks = (sweep: boolean) => {
    seen.begun = true
    seen.open++
    if (sweep) seen.most = Math.max(seen.most, ++seen.sweeps)
  }
  const ends = (sweep: boolean) => {
    seen.open--
    if (sweep) seen.sweeps--
  }

  // An answer counts as arrived when all of it is there, and as drawn when the plot clears its canvas, or the Smith chart
  // has a new curve, after that. However many are drawn before the next frame, that frame counts once.
  let arrived = false
  let counting = false
  const answered = () => {
    seen.answers++
    arrived = true
  }
  const draws = () => {
    if (!arrived) return
    arrived = false
    if (counting) return
    counting = true
    requestAnimationFrame(() => {
      counting = false
      seen.drawn++
    })
  }

  const real = window.fetch
  window.fetch = async (...args) => {
    const sweep = String(args[0]).includes('api/sweep')
    asks(sweep)
    let response: Response
    try {
      response = await real(...args)
    } catch (error) {
      ends(sweep)
      throw error
    }
    let over = false
    const done = () => {
      if (!over) ends(sweep)
      if (!over && sweep) answered()
      over = true
    }
    for (const way of ['json', 'text', 'blob'] as const) {
      const reader = response[way].bind(response) as () => Promise<never>
      response[way] = () => reader().finally(done)
    }
    // Who takes the body itself reads it in pieces.
    const whole = response.body
    Object.defineProperty(response, 'body', {
      get: () => {
        done()
        seen.long++
        const reader = whole?.getReader()
        let read = false
        const last = () => {
          if (!read) seen.long--
          read = true
        }
        const pull = async (to: ReadableStreamDefaultController) => {
          try {
            const piece = await reader?.read()
            if (piece?.value) return to.enqueue(piece.value)
            last()
            to.close()
          } catch (error) {
            last()
            to.error(error)
          }
        }
        return new ReadableStream({ pull, cancel: (why) => (last(), reader?.cancel(why)) }, { highWaterMark: 1000 })
      },
    })
    return response
  }

  // The connection that stays open: each message is a sweep asked for, each answer is the next one that is owed.
  window.WebSocket = class extends WebSocket {
    #owed = 0
    constructor(...args: ConstructorParameters<typeof WebSocket>) {
      super(...args)
      if (!String(args[0]).endsWith('/api/live')) return // it only tells of changes in the folder
      this.addEventListener('message', () => {
        this.#owed--
        ends(true)
        answered()
      })
      this.addEventListener('close', () => {
        while (this.#owed-- > 0) ends(true)
      })
    }
    override send(data: Parameters<WebSocket['send']>[0]) {
      this.#owed++
      asks(true)
      super.send(data)
    }
  }

  const clear = CanvasRenderingContext2D.prototype.clearRect
  CanvasRenderingContext2D.prototype.clearRect = function (...args) {
    draws()
    clear.apply(this, args)
  }
  const curve = (change: MutationRecord) => change.target instanceof SVGPathElement && change.target.classList.contains('now')
  new MutationObserver((all) => {
    if (all.some(curve)) draws()
  }).observe(document, { subtree: true, attributes: true, attributeFilter: ['d'] })

  new MutationObserver((_, self) => {
    if (!document.querySelector('[role=slider]')) return
    seen.usable = performance.now()
    self.disconnect()
  }).observe(document, { subtree: true, childList: true })
}
