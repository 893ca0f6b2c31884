// Undo and redo of settings, apart from the browser's own history.

/** Steps holds what was, what is and what was undone. It never changes what it is given. */
export class Steps<T> {
  #past: T[] = []
  #future: T[] = []
  #last: { mark: string; at: number } | null = null

  /**
   * @param most how many steps are kept
   * @param pause steps with one mark that follow each other within this time, in ms, are one
   */
  constructor(
    private now: T,
    private readonly most = 200,
    private readonly pause = 800,
  ) {}

  get present(): T {
    return this.now
  }
  get canUndo(): boolean {
    return this.#past.length > 0
  }
  get canRedo(): boolean {
    return this.#future.length > 0
  }

  /** Takes a new present. Returns false where it only continues the last step. */
  record(next: T, mark: string, at: number): boolean {
    const goesOn = this.#last !== null && this.#last.mark === mark && at - this.#last.at < this.pause
    this.#last = { mark, at }
    this.#future = []
    if (!goesOn) {
      this.#past.push(this.now)
      if (this.#past.length > this.most) this.#past.shift()
    }
    this.now = next
    return !goesOn
  }

  undo(): T | null {
    const back = this.#past.pop()
    if (back === undefined) return null
    this.#future.push(this.now)
    this.#last = null
    return (this.now = back)
  }

  redo(): T | null {
    const on = this.#future.pop()
    if (on === undefined) return null
    this.#past.push(this.now)
    this.#last = null
    return (this.now = on)
  }

  /** Begins anew, as when another box is chosen. */
  restart(now: T): void {
    this.now = now
    this.#past = []
    this.#future = []
    this.#last = null
  }
}
