/**
 * Room kit: one record kept on this device under one key, by all tabs of this site together.
 *
 * Each writing carries a version and who wrote it, so a page never writes over what it has not
 * seen. A record is kept whole or not at all: one that the browser refuses, or that is too
 * large, takes away the older one too, so that nothing outdated comes back as "kept".
 */

/** More than any case or readout holds, and well below what browsers give a site. */
const MOST = 400_000;
const WRITER = Math.random().toString(36).slice(2);
const NOTHING = "nothing";

/** @typedef {"kept" | "refused" | "too-large" | "overtaken"} Outcome */

/** One key of the browser's own storage. Nothing of it is ever sent. */
export class Store {
  /** @param {string} key */
  constructor(key) {
    this.key = key;
    this.seen = NOTHING;
  }

  /**
   * Look at what is stored now. Its shape is not trusted: anyone can edit their storage.
   * @returns {{record: Record<string, unknown> | null, stamp: string}}
   */
  stored() {
    try {
      const text = localStorage.getItem(this.key);
      if (text === null) return { record: null, stamp: NOTHING };
      const record = JSON.parse(text);
      const isRecord = record !== null && typeof record === "object" && !Array.isArray(record);
      return isRecord ? { record, stamp: `${record.version} ${record.writer}` } : { record: null, stamp: "unreadable" };
    } catch {
      return { record: null, stamp: "unreadable" };
    }
  }

  /** Fetch what is kept, and go on from it; null when there is nothing readable. */
  read() {
    const { record, stamp } = this.stored();
    this.seen = stamp;
    return record;
  }

  /** Tell whether another page wrote since this one last read or wrote. */
  isOvertaken() {
    return this.stored().stamp !== this.seen;
  }

  /** Go on over what another page wrote: the next writing replaces it. */
  takeOver() {
    this.seen = this.stored().stamp;
  }

  /**
   * Keep a record in the place of the one this page knows of. One that says the same is no change.
   * @type {(record: object) => Outcome}
   */
  write(record) {
    const { record: former, stamp } = this.stored();
    if (stamp !== this.seen) return "overtaken";
    const { version: last, writer: _, ...content } = former ?? {};
    if (former !== null && JSON.stringify(content) === JSON.stringify(record)) return "kept";
    const version = (Number(last) || 0) + 1;
    const text = JSON.stringify({ ...record, version, writer: WRITER });
    try {
      if (text.length <= MOST) {
        localStorage.setItem(this.key, text);
        this.seen = `${version} ${WRITER}`;
        return "kept";
      }
    } catch {
      this.forget();
      return "refused";
    }
    this.forget();
    return "too-large";
  }

  /** Take the record off this device. */
  forget() {
    try {
      localStorage.removeItem(this.key);
    } catch {
      // Storage that cannot be written holds nothing of ours.
    }
    this.seen = this.stored().stamp;
  }

  /**
   * Hear when another page keeps or forgets the record, also while this one lay behind "Back".
   * @param {(isGone: boolean) => void} heard
   */
  watch(heard) {
    const look = () => {
      if (this.isOvertaken()) heard(this.stored().record === null);
    };
    addEventListener("storage", ({ key }) => {
      if (key === this.key || key === null) look();
    });
    addEventListener("pageshow", ({ persisted }) => {
      if (persisted) look();
    });
  }
}
