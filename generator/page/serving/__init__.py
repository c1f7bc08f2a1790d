"""Who may speak to the page, and how work is shared out over the cores."""
