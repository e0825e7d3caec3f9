mod pages;
