"""The views of the page, one a file; each has ``show(view, desk)``, called once a run.

| file | view |
|---|---|
| ``choose`` | every face judged for the name: list of measures, board of tags |
| ``side_by_side`` | chosen faces on one scale |
| ``shortlist`` | faces kept for later; the sheet for a customer |
| ``make`` | one tag: levers, proposal, drawing, files |
| ``orders`` | many tags: table, batches, downloads |
| ``fonts`` | reading fonts in, what could not be read, licences of all |
| ``shop`` | filaments, price |
| ``printer`` | a coupon to print, what came out, one's own printers |
| ``licence`` | one face's verdict, quotes and record |
| ``help`` | what each number means |
| ``start`` | what a new person sees: a name in the demo fonts |
"""
