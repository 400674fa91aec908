// One socket a device: it is opened again when it drops, and catches up by itself.
const FIRST_WAIT = 400, LONGEST_WAIT = 5000; // milliseconds

export class Live {
  constructor(path, hooks) {
    Object.assign(this, { path, hooks, wait: FIRST_WAIT, over: false });
    this.open();
    addEventListener("online", () => this.soon(0));
    document.addEventListener("visibilitychange", () => { if (!document.hidden) this.soon(0); });
  }

  open() {
    clearTimeout(this.timer);
    const scheme = location.protocol === "https:" ? "wss" : "ws";
    this.socket = new WebSocket(`${scheme}://${location.host}${this.path}`);
    this.socket.addEventListener("open", () => { this.wait = FIRST_WAIT; });
    this.socket.addEventListener("message", (event) => this.hooks.take(JSON.parse(event.data)));
    this.socket.addEventListener("close", (event) => {
      if (this.over) return;
      if (event.code === 4404) { this.over = true; this.hooks.gone(); return; }
      this.hooks.lost();
      this.soon(this.wait);
      this.wait = Math.min(LONGEST_WAIT, this.wait * 1.7);
    });
  }

  /** Open again after a while, unless it is open. */
  soon(wait) {
    if (this.over || this.socket.readyState === WebSocket.OPEN || this.socket.readyState === WebSocket.CONNECTING) return;
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.open(), wait);
  }

  send(message) {
    if (this.socket.readyState !== WebSocket.OPEN) { this.hooks.lost(); return false; }
    this.socket.send(JSON.stringify(message));
    return true;
  }
}
