"""What a request passes before a page sees it: who may send how much and how slowly, and for whom a proxy speaks."""
