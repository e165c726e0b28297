"""The same screen in a browser on the same machine, and nowhere else.

Why so: ``edit --web`` answers on 127.0.0.1 alone, below a path that is made anew at each start, to requests
that name this machine, and the line to a screen only to its own page. The page is ours, for that of
textual-serve loads a font from outside. What was not saved when a page, a terminal or the server goes away
is kept beside the file. The browser test is skipped without a browser.
"""
