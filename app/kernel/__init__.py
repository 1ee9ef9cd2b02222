"""What every page shares and no room owns: forms, saving once, refusals, tokens, held forms, uploads. Knows no room."""
