// Where we are: the path, and links that stay on the page.
class Router {
  path = $state(location.pathname);

  constructor() {
    addEventListener('popstate', () => (this.path = location.pathname));
    document.addEventListener('click', (e) => {
      const a = (e.target as Element).closest?.('a');
      if (!a || e.defaultPrevented || e.button !== 0 || e.metaKey || e.ctrlKey || e.shiftKey || a.target || a.origin !== location.origin) return;
      if (a.hasAttribute('download')) return;
      e.preventDefault();
      this.go(a.pathname + a.search + a.hash);
    });
  }

  // go opens an address of ours; what stands behind its path is for the page.
  go(to: string): void {
    history.pushState(null, '', to);
    this.path = location.pathname;
    scrollTo(0, 0);
  }
}

export const router = new Router();
