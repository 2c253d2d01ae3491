"""The pages, one module each: they ask for what is to be shown, and hand on what a person does."""
