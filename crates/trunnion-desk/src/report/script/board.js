// A board: figures on one shared axis, with a window, a cursor and a strip over the whole length.
const HINTS = {
  mouse: "Drag across a plot to zoom in, double-click for all; Ctrl and the wheel zoom; Shift with drag or wheel moves " +
    "along; a click holds the cursor. On the strip: arrow keys step, + \u2212 zoom, 0 shows all.",
  touch: "One finger moves the cursor, two zoom. On the strip: drag the window or its ends.",
};

class Board {
  constructor(root, data) {
    this.root = root;
    this.source = new Source(data);
    this.view = { from: this.source.low, to: this.source.high };
    this.cursor = this.start();
    this.held = false;
    this.fitted = false;
    this.lanes = [];
    this.axes = [];
    this.followers = [];
    this.pending = 0;
    this.live = element("div", "live");
    this.figures = element("div", "figures");
    this.watcher = new IntersectionObserver((entries) => this.onSight(entries), { rootMargin: "160px" });
    this.strip = new Strip(this);
    this.live.append(this.strip.root);
    if (data.signals) {
      for (const kind of Object.keys(HINTS)) this.live.append(element("p", "hint " + kind, HINTS[kind]));
    }
    this.live.append(this.figures);
    for (const figure of data.figures) this.figures.append(this.figure(figure));
    root.prepend(this.live);
    const view = root.querySelector(".top-view svg");
    if (view && data.path) this.followers.push(new TopView(this, view, data.path));
    if (data.signals) this.followers.push(new Signals(this));
    new Gestures(this);
    new ResizeObserver(() => this.redraw()).observe(this.figures);
  }

  // Where something happened, else the middle.
  start() {
    const { marks } = this.source.data;
    const first = (kind) => marks.filter((mark) => mark.kind === kind).map((mark) => mark.at).sort((a, b) => a - b)[0];
    const at = first("violated") ?? first("fault") ?? (this.source.low + this.source.high) / 2;
    return this.source.rows.length ? this.source.rows[nearest(this.source.rows, at)] : at;
  }

  figure(data) {
    const section = element("section", "figure");
    if (data.title) section.append(element("h4", "", data.title));
    if (data.caption) section.append(element("p", "caption", data.caption));
    for (const laneData of data.lanes) {
      const lane = new Lane(this, laneData);
      this.lanes.push(lane);
      lane.root.lane = lane;
      section.append(lane.root);
      this.watcher.observe(lane.root);
    }
    const axis = element("canvas", "axis");
    this.axes.push(axis);
    section.append(axis);
    if (this.source.data.x_label !== "time") {
      section.append(element("p", "axis-name", withUnit(this.source.data.x_label, this.source.data.x_unit)));
    }
    return section;
  }

  // Takes a figure off the board.
  drop(section) {
    for (const root of section.querySelectorAll(".lane")) this.watcher.unobserve(root);
    this.lanes = this.lanes.filter((lane) => !section.contains(lane.root));
    this.axes = this.axes.filter((axis) => !section.contains(axis));
    section.remove();
  }

  onSight(entries) {
    for (const { target, isIntersecting } of entries) {
      const lane = target.lane;
      lane.seen = isIntersecting;
      if (isIntersecting) {
        if (lane.stale) lane.draw();
        lane.read();
      }
    }
  }

  // Draws at the next frame, however often it is asked to.
  redraw() {
    if (this.pending) return;
    this.pending = requestAnimationFrame(() => {
      this.pending = 0;
      for (const lane of this.lanes) lane.draw();
      for (const axis of this.axes) paintAxis(axis, this);
      this.strip.draw();
      this.place();
    });
  }

  // Shows the window; never narrower than four rows, never beyond the ends.
  show(from, to) {
    const { low, high, rows } = this.source;
    const least = rows.length > 4 ? 4 * (high - low) / rows.length : (high - low) / 1e4;
    let span = Math.min(high - low, Math.max(least, to - from));
    const middle = (from + to) / 2;
    if (span !== to - from) from = middle - span / 2;
    from = Math.max(low, Math.min(from, high - span));
    this.view = { from, to: from + span };
    this.redraw();
  }

  zoom(factor, about) {
    const { from, to } = this.view;
    this.show(about - (about - from) * factor, about + (to - about) * factor);
  }

  pan(share) {
    const by = (this.view.to - this.view.from) * share;
    this.show(this.view.from + by, this.view.to + by);
  }

  whole() {
    this.show(this.source.low, this.source.high);
  }

  get zoomed() {
    return this.view.to - this.view.from < (this.source.high - this.source.low) * 0.9999;
  }

  // Puts the cursor on the row next to x.
  point(x) {
    const { rows, low, high } = this.source;
    x = Math.max(low, Math.min(high, x));
    this.cursor = rows.length ? rows[nearest(rows, x)] : x;
    this.place();
  }

  hold(held) {
    this.held = held;
    this.place();
  }

  // Moves by rows and keeps the cursor in the window.
  move(steps) {
    const { rows, low, high } = this.source;
    if (rows.length) {
      const row = nearest(rows, this.cursor) + steps;
      this.point(rows[Math.max(0, Math.min(rows.length - 1, row))]);
    } else this.point(this.cursor + steps * (high - low) / 1000);
    this.held = true;
    const { from, to } = this.view;
    if (this.cursor < from) this.show(this.cursor, this.cursor + to - from);
    if (this.cursor > to) this.show(this.cursor - to + from, this.cursor);
    this.place();
  }

  // A place worth seeing: the cursor there, and a window around it.
  visit(x) {
    const { low, high } = this.source;
    const half = Math.min(Math.max((high - low) * 0.05, 1.5), (high - low) / 2);
    this.point(x);
    this.held = true;
    this.show(x - half, x + half);
    this.place();
  }

  // Needle, clock, legends and followers, where the cursor is now.
  place() {
    const width = this.figures.clientWidth;
    if (!width) return;
    const at = scaleX(this.view, width)(this.cursor);
    const inside = this.cursor >= this.view.from && this.cursor <= this.view.to;
    this.figures.style.setProperty("--needle", (inside ? at : -99).toFixed(1) + "px");
    this.root.classList.toggle("held", this.held);
    this.strip.place();
    for (const lane of this.lanes) lane.read();
    for (const follower of this.followers) follower.place();
  }

  // The x under a point of the screen.
  under(clientX) {
    const box = this.figures.getBoundingClientRect();
    const share = (clientX - box.left - GUTTER) / plotWidth(box.width);
    return this.view.from + Math.max(0, Math.min(1, share)) * (this.view.to - this.view.from);
  }
}
