// Shows one sheet at a time, by the anchor in the address; without script all are on the page.
class Sheets {
  constructor() {
    this.sheets = [...document.querySelectorAll(".sheet")];
    this.links = [...document.querySelectorAll("nav a")];
    this.index = document.querySelector("nav details");
    this.current = document.querySelector("nav summary .current");
    this.boards = new Map();
    this.wide = matchMedia("(min-width: 1000px)");
    const unfold = () => { this.index.open = this.wide.matches; };
    this.wide.addEventListener("change", unfold);
    unfold();
    window.addEventListener("hashchange", () => this.follow());
    document.addEventListener("click", (event) => this.onClick(event));
    this.follow();
  }

  follow() {
    let id = "";
    try { id = decodeURIComponent(location.hash.slice(1)); } catch (error) { id = ""; }
    const target = id && document.getElementById(id);
    const sheet = target && target.closest(".sheet");
    this.show(sheet || this.sheets[0]);
    if (!target) return;
    if (target.classList.contains("sheet")) window.scrollTo(0, 0);
    else target.scrollIntoView();
  }

  show(sheet) {
    for (const other of this.sheets) other.hidden = other !== sheet;
    for (const link of this.links) {
      if (link.hash === "#" + sheet.id) {
        link.setAttribute("aria-current", "page");
        this.current.textContent = link.dataset.name;
      } else link.removeAttribute("aria-current");
    }
    if (!this.wide.matches) this.index.open = false;
    for (const root of sheet.querySelectorAll(".board")) this.board(root);
  }

  // A board is built when its sheet is first shown.
  board(root) {
    if (!this.boards.has(root)) {
      const data = JSON.parse(document.getElementById(root.dataset.board).textContent);
      this.boards.set(root, new Board(root, data));
    }
    return this.boards.get(root);
  }

  onClick(event) {
    const link = event.target.closest && event.target.closest("a[data-at]");
    if (!link || event.ctrlKey || event.metaKey || event.shiftKey) return;
    const target = document.getElementById(link.hash.slice(1));
    const sheet = target && target.closest(".sheet");
    const root = sheet && sheet.querySelector(".board");
    if (!root) return;
    event.preventDefault();
    if (location.hash !== link.hash) history.pushState(null, "", link.hash);
    this.show(sheet);
    this.board(root).visit(Number(link.dataset.at));
    target.scrollIntoView();
    root.querySelector(".track").focus({ preventScroll: true });
  }
}
