"""The morning list, and the lists beside it: referrals waiting, closed cases, forms not written."""
