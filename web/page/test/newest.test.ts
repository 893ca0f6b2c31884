import { expect, it } from 'vitest'
import { Newest } from '../src/client'

/** A server that answers when it is told to. */
function desk() {
  const open: { q: number; answer: (a: string) => void; refuse: (e: Error) => void }[] = []
  const asked: number[] = []
  const got: string[] = []
  const failed: string[] = []
  let most = 0
  const queue = new Newest<number, string>(
    (q) =>
      new Promise((answer, refuse) => {
        asked.push(q)
        open.push({ q, answer, refuse })
        most = Math.max(most, open.length)
      }),
    (a) => got.push(a),
    (e) => failed.push((e as Error).message),
  )
  const settle = async (error?: string) => {
    const next = open.shift()
    if (!next) throw new Error('nothing is on its way')
    if (error) next.refuse(new Error(error))
    else next.answer('answer ' + next.q)
    await new Promise((done) => setTimeout(done))
  }
  return { queue, asked, got, failed, settle, waiting: () => open.length, most: () => most }
}

it('has one question on its way and keeps the newest wish', async () => {
  const d = desk()
  for (let i = 1; i <= 5; i++) d.queue.want(i)
  expect(d.asked).toEqual([1])
  await d.settle()
  expect(d.asked).toEqual([1, 5])
  d.queue.want(6)
  d.queue.want(7)
  await d.settle()
  await d.settle()
  expect(d.asked).toEqual([1, 5, 7])
  expect(d.got).toEqual(['answer 1', 'answer 5', 'answer 7'])
  expect([d.most(), d.waiting()]).toEqual([1, 0])
})

it('always ends with the last wish, in any order of wishes and answers', async () => {
  const d = desk()
  let seed = 7
  const random = () => (seed = (seed * 16807) % 2147483647) / 2147483647
  for (let i = 1; i <= 300; i++) {
    d.queue.want(i)
    if (random() < 0.4 && d.waiting() > 0) await d.settle()
  }
  while (d.waiting() > 0) await d.settle()
  expect(d.got.at(-1)).toBe('answer 300')
  expect(d.most()).toBe(1)
  expect([...d.asked].sort((a, b) => a - b)).toEqual(d.asked)
})

it('goes on after a failure', async () => {
  const d = desk()
  d.queue.want(1)
  d.queue.want(2)
  await d.settle('refused')
  await d.settle()
  expect(d.failed).toEqual(['refused'])
  expect(d.got).toEqual(['answer 2'])
})

it('drops the answer to what is no longer shown', async () => {
  const d = desk()
  d.queue.want(1)
  d.queue.want(2)
  d.queue.forget()
  await d.settle()
  expect(d.got).toEqual([])
  expect(d.waiting()).toBe(0)
  d.queue.want(3)
  await d.settle()
  expect(d.got).toEqual(['answer 3'])
  d.queue.want(4)
  d.queue.forget()
  d.queue.want(5)
  await d.settle('late')
  await d.settle()
  expect([d.got, d.failed]).toEqual([['answer 3', 'answer 5'], []])
})
