// Where we are: the path and what is asked of it, and links that stay on the page.
class Router {
  path = $state(location.pathname);
  search = $state(location.search);

  constructor() {
    addEventListener('popstate', () => this.here());
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
    this.here();
    scrollTo(0, 0);
  }

  // ask changes what is asked of this page, so that its address can be passed
  // on; the page stays where it is.
  ask(query: URLSearchParams, push = false): void {
    const text = query.toString();
    const to = location.pathname + (text ? `?${text}` : '');
    if (push) history.pushState(null, '', to);
    else history.replaceState(null, '', to);
    this.here();
  }

  private here(): void {
    this.path = location.pathname;
    this.search = location.search;
  }
}

export const router = new Router();
