def line_notes(run, values):
    return ()
