"""A piece while it is written: served to a browser, judged as it is typed, saved, drawn again."""
