package main

// inventedNotice goes with everything that shows demo data.
const inventedNotice = "INVENTED: this ledger holds demo data; no team, player or game in it is real."
