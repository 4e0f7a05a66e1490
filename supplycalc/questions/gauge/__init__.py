"""Does the finished house do what its file says?"""

from supplycalc.questions import Question

QUESTION = Question(
    place=13,
    help="pressures and flows that were read, against the file",
    asks="Does the house do what the file says?",
    result="supplycalc.questions.gauge.study:GaugeStudy",
    words=(
        "reading",
        "readings",
        "measure",
        "measured",
        "bucket",
        "diagnose",
        "troubleshoot",
        "test-pressure",
    ),
)
