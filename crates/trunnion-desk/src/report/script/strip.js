// The strip: the whole length with its events, the window on it, the cursor, and the buttons.
class Strip {
  constructor(board) {
    this.board = board;
    this.root = element("div", "strip");
    this.bar = element("div", "strip-bar");
    this.clock = element("output", "clock");
    this.event = element("span", "event");
    this.bar.append(this.clock, this.event, this.buttons());
    this.track = element("div", "track");
    this.canvas = element("canvas");
    this.window = element("i", "window");
    this.needle = element("i", "needle");
    this.track.append(this.canvas, this.window, this.needle);
    this.track.tabIndex = 0;
    this.track.setAttribute("role", "slider");
    this.track.setAttribute("aria-label", "Cursor, " + board.source.data.x_label);
    this.track.setAttribute("aria-valuemin", board.source.low);
    this.track.setAttribute("aria-valuemax", board.source.high);
    this.root.append(this.bar, this.track);
    this.track.addEventListener("keydown", (event) => this.onKey(event));
    this.track.addEventListener("wheel", (event) => this.onWheel(event), { passive: false });
    this.track.addEventListener("pointerdown", (event) => this.onPress(event));
  }

  buttons() {
    const group = element("span", "buttons");
    const { board } = this;
    const add = (text, name, act) => {
      const button = element("button", "", text);
      button.type = "button";
      button.title = name;
      button.setAttribute("aria-label", name);
      button.addEventListener("click", () => act(button));
      group.append(button);
      return button;
    };
    add("\u2039", "Move the window back", () => board.pan(-0.5));
    add("\u203a", "Move the window on", () => board.pan(0.5));
    add("\u2212", "Zoom out", () => board.zoom(2, this.centre()));
    add("+", "Zoom in", () => board.zoom(0.5, this.centre()));
    this.all = add("All", "Show the whole length", () => board.whole());
    const fit = add("Fit", "Fit heights to what the window shows", (button) => {
      board.fitted = !board.fitted;
      button.setAttribute("aria-pressed", String(board.fitted));
      board.redraw();
    });
    fit.setAttribute("aria-pressed", "false");
    return group;
  }

  centre() {
    const { cursor, view } = this.board;
    return cursor >= view.from && cursor <= view.to ? cursor : (view.from + view.to) / 2;
  }

  // Across the track, which has the gutters of the plots.
  at(x) {
    const { low, high } = this.board.source;
    return scaleX({ from: low, to: high }, this.track.clientWidth)(x);
  }

  under(clientX) {
    const box = this.track.getBoundingClientRect();
    const { low, high } = this.board.source;
    const share = (clientX - box.left - GUTTER) / plotWidth(box.width);
    return low + Math.max(0, Math.min(1, share)) * (high - low);
  }

  draw() {
    const { context, width, height } = prepare(this.canvas);
    const { spans, marks } = this.board.source.data;
    const middle = Math.round(height / 2);
    rule(context, theme.rule, GUTTER, middle + 0.5, width - EDGE, middle + 0.5);
    // Hatched where permission was withheld, as a draughtsman hatches what is solid.
    context.save();
    context.beginPath();
    for (const [from, until] of spans) {
      const left = this.at(from);
      context.rect(left, middle - 5, Math.max(1, this.at(until) - left), 11);
    }
    context.clip();
    context.strokeStyle = theme.soft;
    context.lineWidth = 1;
    context.beginPath();
    for (let x = GUTTER - 12; spans.length && x < width; x += 5) {
      context.moveTo(x, middle + 6);
      context.lineTo(x + 11, middle - 5);
    }
    context.stroke();
    context.restore();
    for (const mark of marks) this.drawMark(context, mark, middle);
    const { from, to } = this.board.view;
    this.window.style.left = this.at(from) + "px";
    this.window.style.width = Math.max(6, this.at(to) - this.at(from)) + "px";
    this.root.classList.toggle("zoomed", this.board.zoomed);
    this.all.disabled = !this.board.zoomed;
  }

  drawMark(context, mark, middle) {
    const x = this.at(mark.at);
    context.fillStyle = context.strokeStyle = mark.kind === "fault" ? theme.ink : theme[mark.kind];
    context.lineWidth = 1.5;
    context.beginPath();
    if (mark.kind === "fault") {
      context.moveTo(x, middle - 1);
      context.lineTo(x - 4, middle - 9);
      context.lineTo(x + 4, middle - 9);
      context.fill();
    } else if (mark.kind === "violated") {
      context.moveTo(x - 4, middle + 3);
      context.lineTo(x + 4, middle + 11);
      context.moveTo(x + 4, middle + 3);
      context.lineTo(x - 4, middle + 11);
      context.stroke();
    } else {
      context.moveTo(x, middle + 4);
      context.lineTo(x, middle + 10);
      context.stroke();
    }
  }

  place() {
    const { cursor, source, held } = this.board;
    const { x_unit, x_label, marks } = source.data;
    const decimals = ticks(0, (source.high - source.low) / Math.max(1, source.rows.length) * 10, 10).decimals;
    const text = withUnit(number(cursor, Math.min(4, decimals)), x_unit);
    this.clock.textContent = (x_label === "time" ? "" : x_label + " ") + text;
    this.needle.style.left = this.at(cursor) + "px";
    const reach = (source.high - source.low) / 150;
    const near = marks.filter((mark) => Math.abs(mark.at - cursor) < reach);
    const state = !held ? "" : matchMedia("(hover: hover)").matches ? "held: click a plot to release" : "held";
    this.event.textContent = near.length ? near.map((mark) => mark.text).join(" \u00b7 ") : state;
    this.track.setAttribute("aria-valuenow", String(cursor));
    this.track.setAttribute("aria-valuetext", text);
  }

  onKey(event) {
    const { board } = this;
    const step = event.shiftKey ? 10 : 1;
    const acts = {
      ArrowLeft: () => board.move(-step), ArrowDown: () => board.move(-step),
      ArrowRight: () => board.move(step), ArrowUp: () => board.move(step),
      PageUp: () => board.pan(-0.8), PageDown: () => board.pan(0.8),
      Home: () => board.move(-Infinity), End: () => board.move(Infinity),
      "+": () => board.zoom(0.5, this.centre()), "=": () => board.zoom(0.5, this.centre()),
      "-": () => board.zoom(2, this.centre()), 0: () => board.whole(),
      Enter: () => board.hold(!board.held), " ": () => board.hold(!board.held),
      Escape: () => board.hold(false),
    };
    if (event.ctrlKey || event.metaKey || event.altKey || !acts[event.key]) return;
    event.preventDefault();
    acts[event.key]();
  }

  onWheel(event) {
    event.preventDefault();
    const along = Math.abs(event.deltaX) > Math.abs(event.deltaY) || event.shiftKey;
    if (along) this.board.pan((event.deltaX || event.deltaY) / 800);
    else this.board.zoom(Math.exp(wheelSteps(event)), this.under(event.clientX));
  }

  // Drags the window, one of its ends, or a new window; a press without a drag moves the cursor.
  onPress(event) {
    if (event.button !== 0) return;
    const { board } = this;
    const box = this.track.getBoundingClientRect();
    const start = this.under(event.clientX), { from, to } = board.view;
    const grip = (x) => Math.abs(this.at(x) - (event.clientX - box.left)) < 9;
    const end = board.zoomed && grip(from) ? "from" : board.zoomed && grip(to) ? "to" : null;
    const inside = board.zoomed && start > from && start < to;
    let dragged = false;
    const move = (now) => {
      if (!dragged && Math.abs(now.clientX - event.clientX) < 4) return;
      dragged = true;
      const x = this.under(now.clientX);
      if (end === "from") board.show(Math.min(x, to), to);
      else if (end === "to") board.show(from, Math.max(x, from));
      else if (inside) board.show(from + x - start, to + x - start);
      else board.show(Math.min(start, x), Math.max(start, x));
    };
    const done = () => {
      this.track.removeEventListener("pointermove", move);
      this.track.removeEventListener("pointerup", done);
      this.track.removeEventListener("pointercancel", done);
      if (dragged) return;
      board.point(start);
      board.hold(true);
      if (start < from || start > to) board.show(start - (to - from) / 2, start + (to - from) / 2);
    };
    this.track.setPointerCapture(event.pointerId);
    this.track.addEventListener("pointermove", move);
    this.track.addEventListener("pointerup", done);
    this.track.addEventListener("pointercancel", done);
  }
}

// A notch of a wheel, whatever it counts in.
function wheelSteps(event) {
  const unit = event.deltaMode === 1 ? 16 : event.deltaMode === 2 ? 400 : 1;
  return Math.max(-0.5, Math.min(0.5, event.deltaY * unit / 300));
}
