document.documentElement.classList.add("live");
readTheme();
const sheets = new Sheets();
matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => {
  readTheme();
  for (const board of sheets.boards.values()) board.redraw();
});
