"""Teaching with the catalogue: what a course covers, and the smallest lists that cover it.

    curriculum file --curriculum, curriculum_sheet--> objectives and sessions --proposals--> a question for each
    questions + catalogue --coverage--> what is met, short, unmapped --smallest--> the fewest instruments that would do

Exact search is done by ``solver``, which alone knows the library it uses.
"""
