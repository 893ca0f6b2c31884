import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest'
import type { SweepRequest } from '../src/api'
import { Live, Refused } from '../src/client'

/** A connection whose other end is the test. */
class Socket {
  static readonly OPEN = 1
  static last: Socket | null = null
  static made = 0
  readyState = 0
  sent: string[] = []
  onmessage: ((e: { data: string }) => void) | null = null
  onclose: (() => void) | null = null
  constructor(readonly url: URL) {
    Socket.last = this
    Socket.made++
  }
  send(text: string) {
    this.sent.push(text)
  }
  close() {
    this.readyState = 3
    this.onclose?.()
  }
}

const q = { box: 'b' } as SweepRequest
let posted = 0
beforeEach(() => {
  posted = 0
  Socket.made = 0
  vi.stubGlobal('WebSocket', Socket)
  vi.stubGlobal('location', { href: 'http://127.0.0.1:7777/?box=b' })
  vi.stubGlobal('fetch', () => Promise.resolve(new Response(JSON.stringify({ span: `request ${++posted}` }))))
})
afterEach(() => vi.unstubAllGlobals())

describe('the open connection', () => {
  it('is asked once it is open; until then and after it broke single requests do', async () => {
    const live = new Live()
    expect(await live.ask(q)).toEqual({ span: 'request 1' })
    expect(await live.ask(q)).toEqual({ span: 'request 2' })
    expect(Socket.made).toBe(1)
    const socket = Socket.last!
    expect(socket.url.href).toBe('ws://127.0.0.1:7777/api/live')
    socket.readyState = 1
    const answer = live.ask(q)
    expect(socket.sent).toEqual([JSON.stringify(q)])
    socket.onmessage?.({ data: '{"span":"live"}' })
    expect(await answer).toEqual({ span: 'live' })
    const garbled = live.ask(q)
    socket.onmessage?.({ data: '{"span":' })
    expect(await garbled).toEqual({ span: 'request 3' })
    const broken = live.ask(q)
    socket.close()
    expect(await broken).toEqual({ span: 'request 4' })
    await live.ask(q)
    expect(Socket.made).toBe(2)
  })
  it('hands on what the server refuses', async () => {
    const live = new Live()
    await live.ask(q)
    Socket.last!.readyState = 1
    const answer = live.ask(q)
    Socket.last!.onmessage?.({ data: JSON.stringify({ error: { message: 'no such box', excerpt: '', file: '', line: 0, column: 0 } }) })
    await expect(answer).rejects.toBeInstanceOf(Refused)
  })
})
