"""How many steps the first pass proposes rightly on whole attempts whose steps are known, and learning its weights."""
