"""A made-up sheet that uses every key of the format."""

WHOLE = '''
form = 2
id = "whole"
version = 3
title = "Fenwick Shore: everything"
summary = "Two sections."
notice = "Practice feedback, not a diagnosis."
limit_s = 600
notes = ["Compare both sides.", "=SUM(A1:A9) is no formula here."]

[scale]
name = "Points"
not_assessable = "not seen"
levels = [
    { key = "three", word = "without help", points = 3 },
    { key = "two", word = "with a hint", points = 2 },
    { key = "one", word = "not done", points = 0 },
]

[pass]
share = 0.75
critical = true
critical_level = "two"
section_share = 0.5
time = true

[[section]]
id = "standing"
title = "Standing"
weight = 2
limit_s = 90.5

[[section.step]]
id = "eyes_closed"
title = "-5 to +5: eyes closed"
action = """
Have the eyes closed.

Stay close."""
expected = "@ most mild sway, it's said"
finding = ["steady", "[no] step"]
equipment = ["chair", """
timer

or clock"""]
caution = "'Guard' from the side."
points = 6
weight = 0.5
critical = true
view = ["whole_body", "feet"]
limit_s = 30
criteria = [
    { id = "feet", text = "Feet together", points = 4 },
    { id = "guard", text = "*Within reach", points = 2 },
]
targets = [{ measure = "hold_time", low = 20, unit = "s", source = "our | course" }]
measures = ["postural_sway"]

[[section]]
id = "reflexes"
title = "Reflexes"
weight = 1
pass_share = 0.9

[[section.step]]
id = "knee"
title = "1. Knee (2 points)"
action = "Tap."
expected = "Kick."
caution = "Tap the tendon."
sides = ["right", "left"]
entry = "reflex"
spoken = ["knee [jerk] {grade: 2} plus", "(knee | patellar) reflex is equal"]
'''
