/** The search library is copied from the installed site generator when the site is built. */
declare module "*/vendor/lunr.js" {
  const lunr: any;
  export default lunr;
}
