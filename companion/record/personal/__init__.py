"""What in free text may tell who somebody is: names, dates of birth, numbers, addresses. English, typed or dictated."""
