// Draws on canvases; colours and font come from the page's style.
const GUTTER = 46, EDGE = 10;
let theme = null;

function readTheme() {
  const style = getComputedStyle(document.documentElement);
  const colour = (name) => style.getPropertyValue("--" + name).trim();
  theme = { font: "11px " + getComputedStyle(document.body).fontFamily, lines: [], states: [] };
  for (const name of ["sheet", "ink", "soft", "rule", "grid", "tint", "accent", "held", "violated", "open"]) {
    theme[name] = colour(name);
  }
  for (let index = 0; index < 8; index++) theme.lines.push(colour("line-" + index));
  for (let index = 0; index < 6; index++) theme.states.push(colour("state-" + index));
}

// A context in CSS pixels, cleared.
function prepare(canvas) {
  const ratio = window.devicePixelRatio || 1;
  const width = canvas.clientWidth, height = canvas.clientHeight;
  if (canvas.width !== Math.round(width * ratio) || canvas.height !== Math.round(height * ratio)) {
    canvas.width = Math.round(width * ratio);
    canvas.height = Math.round(height * ratio);
  }
  const context = canvas.getContext("2d");
  context.setTransform(ratio, 0, 0, ratio, 0, 0);
  context.clearRect(0, 0, width, height);
  context.font = theme.font;
  context.textBaseline = "middle";
  context.lineJoin = "round";
  return { context, width, height };
}

function plotWidth(width) {
  return Math.max(10, width - GUTTER - EDGE);
}

function scaleX(view, width) {
  const factor = plotWidth(width) / (view.to - view.from);
  return (x) => GUTTER + (x - view.from) * factor;
}

function rule(context, colour, x1, y1, x2, y2) {
  context.strokeStyle = colour;
  context.lineWidth = 1;
  context.beginPath();
  context.moveTo(x1, y1);
  context.lineTo(x2, y2);
  context.stroke();
}

const crisp = (value) => Math.round(value) + 0.5;

function paintAxis(canvas, board) {
  const { context, width } = prepare(canvas);
  const across = scaleX(board.view, width);
  const { values, decimals } = ticks(board.view.from, board.view.to, Math.floor(plotWidth(width) / 80));
  context.fillStyle = theme.soft;
  rule(context, theme.rule, GUTTER, 0.5, width - EDGE, 0.5);
  values.forEach((value, index) => {
    const x = across(value), last = index === values.length - 1;
    rule(context, theme.rule, crisp(x), 0, crisp(x), 4);
    const text = withUnit(number(value, decimals), last ? board.source.data.x_unit : "");
    const half = context.measureText(text).width / 2;
    context.textAlign = "left";
    context.fillText(text, Math.max(0, Math.min(x - half, width - 2 * half)), 13);
  });
}

function paintLines(canvas, lane, board) {
  const { context, width, height } = prepare(canvas);
  const across = scaleX(board.view, width);
  const [low, high] = lane.range(board);
  const down = (y) => 6 + (high - y) / (high - low) * (height - 12);
  const right = width - EDGE;
  for (const value of ticks(board.view.from, board.view.to, Math.floor(plotWidth(width) / 80)).values) {
    rule(context, theme.grid, crisp(across(value)), 0, crisp(across(value)), height);
  }
  const marks = ticks(low, high, Math.max(2, Math.floor(height / 30)));
  context.textAlign = "right";
  for (const value of marks.values) {
    const y = crisp(down(value));
    rule(context, Math.abs(value) < 1e-12 ? theme.rule : theme.grid, GUTTER, y, right, y);
    context.fillStyle = theme.soft;
    context.fillText(number(value, marks.decimals), GUTTER - 6, down(value));
  }
  rule(context, theme.rule, GUTTER + 0.5, 0, GUTTER + 0.5, height);
  context.save();
  context.beginPath();
  context.rect(GUTTER, 0, right - GUTTER, height);
  context.clip();
  for (const series of lane.lines) if (series.shown) paintLine(context, series, board, across, down);
  for (const [value, label] of lane.limits) paintLimit(context, down(value), label, right);
  context.restore();
}

function paintLimit(context, y, label, right) {
  if (!(y === y)) return;
  context.setLineDash([2, 3]);
  rule(context, theme.soft, GUTTER, crisp(y), right, crisp(y));
  context.setLineDash([]);
  context.textAlign = "right";
  context.lineWidth = 3;
  context.strokeStyle = theme.sheet;
  context.strokeText(label, right - 2, y - 8);
  context.fillStyle = theme.soft;
  context.fillText(label, right - 2, y - 8);
}

const DASHES = [[], [7, 4], [1.5, 4]];

function paintLine(context, series, board, across, down) {
  const { x, y, rising: ordered } = board.source.column(series.column);
  let first = 0, end = x.length;
  if (ordered) {
    first = Math.max(0, rowAfter(x, board.view.from) - 1);
    end = Math.min(x.length, rowAfter(x, board.view.to) + 2);
  }
  context.strokeStyle = context.fillStyle = theme.lines[series.colour];
  context.lineWidth = 1.6;
  context.lineCap = series.dash === 2 ? "round" : "butt";
  context.setLineDash(DASHES[series.dash]);
  context.beginPath();
  const wide = across(board.view.to) - across(board.view.from);
  const fine = window.devicePixelRatio || 1;
  if (ordered && end - first > 2 * wide * fine) thin(context, x, y, first, end, (x) => Math.round(across(x) * fine) / fine, down);
  else {
    let pen = false;
    for (let row = first; row < end; row++) {
      const open = y[row] === y[row];
      if (open && pen) context.lineTo(across(x[row]), down(y[row]));
      else if (open) context.moveTo(across(x[row]), down(y[row]));
      pen = open;
    }
  }
  context.stroke();
  context.setLineDash([]);
  // Close enough to tell rows apart: show them.
  if (ordered && end - first < wide / 9) {
    for (let row = first; row < end; row++) {
      context.beginPath();
      context.arc(across(x[row]), down(y[row]), 2, 0, 7);
      context.fill();
    }
  }
}

// First, lowest, highest and last of the rows on each pixel: no spike is lost.
function thin(context, x, y, first, end, pixelOf, down) {
  let pixel = NaN, enter = 0, low = 0, high = 0, leave = 0, pen = false;
  const flush = () => {
    if (pixel !== pixel) return;
    if (pen) context.lineTo(pixel, down(enter));
    else context.moveTo(pixel, down(enter));
    if (low < high) {
      context.lineTo(pixel, down(low));
      context.lineTo(pixel, down(high));
    }
    context.lineTo(pixel, down(leave));
    pen = true;
  };
  for (let row = first; row < end; row++) {
    const value = y[row];
    if (!(value === value)) {
      flush();
      pixel = NaN;
      pen = false;
      continue;
    }
    const at = pixelOf(x[row]);
    if (at !== pixel) {
      flush();
      pixel = at;
      enter = low = high = value;
    }
    if (value < low) low = value;
    if (value > high) high = value;
    leave = value;
  }
  flush();
}

function paintBand(canvas, series, board) {
  const { context, width, height } = prepare(canvas);
  const across = scaleX(board.view, width);
  const { stays: list, choices } = board.source.column(series.column);
  rule(context, theme.rule, GUTTER, crisp(height / 2), width - EDGE, crisp(height / 2));
  context.textAlign = "left";
  for (const [from, until, state] of list) {
    if (until < board.view.from || from > board.view.to) continue;
    const left = Math.max(GUTTER, across(from));
    const wide = Math.max(1, Math.min(width - EDGE, across(until)) - left);
    context.fillStyle = theme.states[(state - 1 + series.colour) % 6];
    context.fillRect(left, 0, wide, height);
    const name = choices[state] || String(state);
    context.fillStyle = theme.ink;
    if (context.measureText(name).width + 8 < wide) context.fillText(name, left + 4, height / 2 + 0.5);
    else rule(context, theme.soft, left + 0.5, 0, left + 0.5, height);
  }
}
