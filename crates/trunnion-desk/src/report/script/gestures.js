// Mouse, wheel and fingers on the plots of a board.
class Gestures {
  constructor(board) {
    this.board = board;
    this.touches = new Map();
    this.drag = null;
    const area = board.figures;
    area.addEventListener("pointerdown", (event) => this.onDown(event));
    area.addEventListener("pointermove", (event) => this.onMove(event));
    area.addEventListener("pointerup", (event) => this.onUp(event));
    area.addEventListener("pointercancel", (event) => this.onCancel(event));
    area.addEventListener("lostpointercapture", (event) => this.touches.delete(event.pointerId));
    area.addEventListener("wheel", (event) => this.onWheel(event), { passive: false });
    area.addEventListener("dblclick", (event) => {
      if (this.onPlot(event)) board.whole();
    });
    document.addEventListener("keydown", (event) => {
      if (event.key === "Escape" && this.drag) this.endDrag();
    });
  }

  onPlot(event) {
    return event.target.closest && event.target.closest(".plot");
  }

  onDown(event) {
    const plot = this.onPlot(event);
    if (!plot || event.button > 1) return;
    plot.setPointerCapture(event.pointerId);
    if (event.pointerType === "touch") {
      this.touches.set(event.pointerId, event.clientX);
      this.pinch = this.touches.size === 2 ? this.fingers() : null;
      if (this.touches.size === 1) this.tap = event.clientX;
      return;
    }
    event.preventDefault();
    const along = event.shiftKey || event.button === 1;
    this.drag = { x: event.clientX, at: this.board.under(event.clientX), along, view: this.board.view, moved: false };
  }

  onMove(event) {
    const { board } = this;
    if (event.pointerType === "touch") return this.onTouch(event);
    if (!this.drag) {
      if (!board.held && this.onPlot(event)) board.point(board.under(event.clientX));
      return;
    }
    if (!this.drag.moved && Math.abs(event.clientX - this.drag.x) < 4) return;
    this.drag.moved = true;
    if (this.drag.along) {
      const { from, to } = this.drag.view;
      const by = (this.drag.x - event.clientX) / plotWidth(board.figures.clientWidth) * (to - from);
      board.show(from + by, to + by);
    } else this.select(event.clientX);
  }

  onUp(event) {
    const { board, drag } = this;
    if (event.pointerType === "touch") {
      this.touches.delete(event.pointerId);
      this.pinch = null;
      if (this.tap !== null && this.tap !== undefined) {
        board.point(board.under(event.clientX));
        board.hold(true);
      }
      return;
    }
    if (!drag) return;
    this.endDrag();
    if (!drag.moved) {
      board.point(board.under(event.clientX));
      board.hold(!board.held);
    } else if (!drag.along) {
      const to = board.under(event.clientX);
      board.show(Math.min(drag.at, to), Math.max(drag.at, to));
    }
  }

  onCancel(event) {
    this.touches.delete(event.pointerId);
    this.pinch = this.tap = null;
    this.endDrag();
  }

  endDrag() {
    this.drag = null;
    this.board.figures.classList.remove("selecting");
  }

  select(clientX) {
    const { figures } = this.board;
    const box = figures.getBoundingClientRect();
    const clip = (x) => Math.max(GUTTER, Math.min(box.width - EDGE, x - box.left));
    const from = clip(Math.min(this.drag.x, clientX)), to = clip(Math.max(this.drag.x, clientX));
    figures.style.setProperty("--from", from + "px");
    figures.style.setProperty("--wide", to - from + "px");
    figures.classList.add("selecting");
  }

  // One finger moves the cursor, two keep what was under them under them.
  onTouch(event) {
    if (!this.touches.has(event.pointerId)) return;
    this.touches.set(event.pointerId, event.clientX);
    const { board } = this;
    if (this.pinch) {
      const now = this.fingers();
      const wide = Math.max(12, now.right - now.left);
      const scale = (this.pinch.to - this.pinch.from) / wide;
      const box = board.figures.getBoundingClientRect();
      const from = this.pinch.from - (now.left - box.left - GUTTER) * scale;
      board.show(from, from + plotWidth(box.width) * scale);
      this.tap = null;
    } else if (Math.abs(event.clientX - this.tap) > 6 || this.tap === null) {
      this.tap = null;
      board.held = true;
      board.point(board.under(event.clientX));
    }
  }

  fingers() {
    const [one, other] = [...this.touches.values()];
    const left = Math.min(one, other), right = Math.max(one, other);
    return { left, right, from: this.board.under(left), to: this.board.under(right) };
  }

  onWheel(event) {
    if (!this.onPlot(event)) return;
    const { board } = this;
    if (event.ctrlKey || event.metaKey || event.altKey) {
      event.preventDefault();
      board.zoom(Math.exp(wheelSteps(event)), board.under(event.clientX));
    } else if (event.shiftKey || Math.abs(event.deltaX) > Math.abs(event.deltaY)) {
      event.preventDefault();
      board.pan((event.deltaX || event.deltaY) / 800);
    }
  }
}
